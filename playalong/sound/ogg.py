"""A chosen serial number for an Ogg stream (RFC 3533), so that equal input gives equal bytes.

libsndfile draws the serial at random; it stands in every page and is covered by its checksum.
"""

from __future__ import annotations

import zlib
from pathlib import Path

HEADER_BYTES = 27  # before the segment table
SERIAL = slice(14, 18)
CHECKSUM = slice(22, 26)
SEGMENTS = 26
MIRRORED = bytes(int(f"{byte:08b}"[::-1], 2) for byte in range(256))


def set_serial(path: Path, serial: int) -> None:
    """Rewrite, in place, the serial and checksum of every page. OSError if a page is amiss."""
    with path.open("r+b") as file:
        start = 0
        while header := file.read(HEADER_BYTES):
            if len(header) < HEADER_BYTES or header[:4] != b"OggS":
                raise OSError(f"no Ogg page at byte {start}")
            table = file.read(header[SEGMENTS])
            page = bytearray(header + table + file.read(sum(table)))
            if len(page) < HEADER_BYTES + len(table) + sum(table):
                raise OSError(f"the Ogg page at byte {start} is cut off")
            page[SERIAL] = serial.to_bytes(4, "little")
            page[CHECKSUM] = bytes(4)
            page[CHECKSUM] = page_checksum(page).to_bytes(4, "little")
            file.seek(start)
            file.write(page)
            start = file.seek(start + len(page))


def page_checksum(page: bytes | bytearray) -> int:
    """CRC-32 of a page whose checksum field is zero: polynomial 04C11DB7, start and end 0.

    zlib's CRC has the same polynomial with bits mirrored and inverted at both ends, and runs
    some hundred times faster than a loop here would.
    """
    mirrored = zlib.crc32(page.translate(MIRRORED), 0xFFFF_FFFF) ^ 0xFFFF_FFFF
    return int(f"{mirrored:032b}"[::-1], 2)
