import io

import mutagen.id3
import pytest

from playalong.sound.id3 import CHUNK_BYTES, id3_tag, initial_key, put_in_front, read_tag
from playalong.sound.tags import Tags


def test_the_bytes_are_those_of_the_standard():
    """Packed by hand after id3.org, "ID3v2.4.0 main structure" and "native frames"."""
    frame = b"TIT2" + b"\x00\x00\x00\x06" + b"\x00\x00" + b"\x03" + b"B\xe2\x99\xad" + b"\x00"
    assert id3_tag(Tags(title="B♭")) == b"ID3\x04\x00\x00" + b"\x00\x00\x00\x10" + frame


def test_sizes_are_synchsafe():
    """128 bytes of text with encoding and end make 130, written 01 02 in seven-bit bytes."""
    tag = id3_tag(Tags(title="x" * 128))
    assert tag[14:18] == b"\x00\x00\x01\x02"
    assert str(mutagen.id3.ID3(io.BytesIO(tag))["TIT2"]) == "x" * 128


def test_nothing_to_say_is_no_tag():
    assert id3_tag(Tags(title="")) == b""


def test_tempo_is_a_whole_number_and_the_comment_exact():
    tag = mutagen.id3.ID3(io.BytesIO(id3_tag(Tags(title="", tempo_bpm=66.15))))
    assert str(tag["TBPM"]) == "66"
    assert str(tag["COMM::eng"]) == "tempo: 66.15"


@pytest.mark.parametrize(
    ("key", "expected"),
    [
        ("C major", "C"),
        ("D minor", "Dm"),
        ("Bb major", "Bb"),
        ("F# minor", "F#m"),
        ("B♭ minor", "Bbm"),
        ("C♯ major", "C#"),
        ("D harmonic minor", "Dm"),
        ("D dorian", "Dm"),  # by its third
        ("Bb lydian", "Bb"),
        ("", ""),
        ("sol majeur", ""),
        ("H minor", ""),
    ],
)
def test_a_key_is_spelled_as_id3_spells_it(key, expected):
    """ID3v2.4.0 native frames, 4.2.3: A to G, then b or #, then m; three characters at most."""
    assert initial_key(key) == expected


@pytest.mark.parametrize("size", [0, 1, CHUNK_BYTES - 1, CHUNK_BYTES, 2 * CHUNK_BYTES + 17])
def test_bytes_put_in_front_leave_the_rest_as_it_was(tmp_path, size):
    path = tmp_path / "file"
    rest = bytes(i % 251 for i in range(size))
    path.write_bytes(rest)
    put_in_front(path, b"head")
    assert path.read_bytes() == b"head" + rest


@pytest.mark.parametrize("length", [1, 127, 128, 16_384, 2_097_152])
def test_a_tag_is_read_back_whole_and_nothing_of_the_sound_with_it(tmp_path, length):
    """Each length takes one byte of seven bits more."""
    tag = id3_tag(Tags(title="x" * length))
    (tmp_path / "file").write_bytes(tag + b"\xff\xfb sound")
    assert read_tag(tmp_path / "file") == tag


@pytest.mark.parametrize("content", [b"", b"ID3", b"ID3\x04\x00\x00\x00\x00\x00", b"\xff\xfb" * 20])
def test_a_file_without_a_tag_has_none(tmp_path, content):
    (tmp_path / "file").write_bytes(content)
    assert read_tag(tmp_path / "file") == b""


def test_a_tag_without_a_frame_is_its_head(tmp_path):
    head = b"ID3\x04\x00\x00\x00\x00\x00\x00"
    (tmp_path / "file").write_bytes(head + b"\xff\xfb sound")
    assert read_tag(tmp_path / "file") == head
