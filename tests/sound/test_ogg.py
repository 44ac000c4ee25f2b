import pytest

from playalong.sound.ogg import page_checksum, set_serial


def checksum_bit_by_bit(page):
    """RFC 3533, section 6: polynomial 04C11DB7, initial value and final xor 0, unreflected."""
    register = 0
    for byte in page:
        register ^= byte << 24
        for _ in range(8):
            register = (register << 1) ^ (0x04C11DB7 if register >> 31 else 0)
            register &= 0xFFFFFFFF
    return register


def page(number, body, serial=b"\x11\x22\x33\x44"):
    """A page packed by hand: RFC 3533, section 6."""
    head = b"OggS" + b"\x00\x00" + bytes(8) + serial + number.to_bytes(4, "little")
    lacing = bytes([len(body)])
    bare = head + bytes(4) + bytes([len(lacing)]) + lacing + body
    checksum = checksum_bit_by_bit(bare).to_bytes(4, "little")
    return head + checksum + bytes([len(lacing)]) + lacing + body


@pytest.mark.parametrize("data", [b"", b"\x00", b"\x01", b"OggS", bytes(range(256))])
def test_the_checksum_is_that_of_the_standard(data):
    assert page_checksum(data) == checksum_bit_by_bit(data)


def test_every_page_gets_the_serial_and_a_checksum_that_fits(tmp_path):
    path = tmp_path / "stream.ogg"
    bodies = [b"first", b"", b"third page" * 20]
    path.write_bytes(b"".join(page(number, body) for number, body in enumerate(bodies)))
    set_serial(path, 0xCAFE0001)
    expected = [page(n, body, b"\x01\x00\xfe\xca") for n, body in enumerate(bodies)]
    assert path.read_bytes() == b"".join(expected)


def test_what_is_no_ogg_page_is_refused(tmp_path):
    path = tmp_path / "stream.ogg"
    path.write_bytes(page(0, b"body") + b"something else, longer than a header")
    with pytest.raises(OSError, match="no Ogg page at byte 32"):
        set_serial(path, 1)


def test_a_page_that_is_cut_off_is_refused(tmp_path):
    path = tmp_path / "stream.ogg"
    path.write_bytes(page(0, b"body")[:-1])
    with pytest.raises(OSError, match="the Ogg page at byte 0 is cut off"):
        set_serial(path, 1)
