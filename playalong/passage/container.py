"""The bytes of a score: a plain file, or the one that a compressed .mxl names.

A .mxl is a zip whose META-INF/container.xml names the score (MusicXML 4.0, "Compressed .mxl
files"). Every size is bounded before anything is unpacked.
"""

from __future__ import annotations

import io
import zipfile
import zlib
from pathlib import Path

from playalong.errors import short
from playalong.folder.files import read_bounded
from playalong.passage.model import PassageError
from playalong.passage.xml_events import MOST_BYTES, elements

MOST_PACKED_BYTES = 16 * 1024 * 1024
MOST_MEMBERS = 200
MOST_CONTAINER_BYTES = 1024 * 1024
CONTAINER = "META-INF/container.xml"
_DIRECTORY_ENTRY = b"PK\x01\x02"


def score_bytes(path: Path) -> bytes:
    """What a score file holds, unpacked. PassageError or ReadError says why it cannot be had."""
    data = read_bounded(path, MOST_BYTES, "a score")
    return _unpacked(data) if data.startswith(b"PK") else data


def _unpacked(data: bytes) -> bytes:
    if len(data) > MOST_PACKED_BYTES:
        raise PassageError(f"the .mxl has more than {MOST_PACKED_BYTES >> 20} MB")
    if data.count(_DIRECTORY_ENTRY) > MOST_MEMBERS:
        raise PassageError(f"the .mxl holds more than {MOST_MEMBERS} files")
    try:
        archive = zipfile.ZipFile(io.BytesIO(data))
    except (zipfile.BadZipFile, ValueError):
        raise PassageError("the .mxl is damaged: it is not a whole zip file") from None
    with archive:
        box = _member(archive, CONTAINER, MOST_CONTAINER_BYTES)
        roots = (each for event, each in elements(box) if event == "end")
        names = [each.get("full-path", "") for each in roots if each.tag.endswith("rootfile")]
        if not names:
            raise PassageError(f"the .mxl names no score in its {CONTAINER}")
        return _member(archive, names[0], MOST_BYTES)


def _member(archive: zipfile.ZipFile, name: str, most_bytes: int) -> bytes:
    try:
        info = archive.getinfo(name)
    except KeyError:
        raise PassageError(f'the .mxl holds no "{short(name)}"') from None
    if info.flag_bits & 1:
        raise PassageError("the .mxl is locked with a password")
    if info.compress_type not in (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED):
        raise PassageError("the .mxl is packed in a way that MusicXML does not know")
    try:
        with archive.open(info) as stream:
            data = stream.read(most_bytes + 1)
    except (zipfile.BadZipFile, zlib.error, EOFError, OSError, ValueError):
        raise PassageError(f'the .mxl is damaged: "{short(name)}" does not unpack') from None
    if len(data) > most_bytes:
        raise PassageError(f'"{short(name)}" unpacks to more than {most_bytes >> 20} MB')
    return data
