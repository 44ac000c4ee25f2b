"""An ID3v2.4 tag of a few text frames in UTF-8 (id3.org, "ID3 tag version 2.4.0").

libsndfile writes MP3 tags itself, but labels UTF-8 as Latin-1, so that é and ♭ come out wrong.
"""

from __future__ import annotations

import os
from pathlib import Path

from playalong.music.key import KeyNameError, parse_key
from playalong.sound.tags import Tags

UTF8 = b"\x03"
CHUNK_BYTES = 1 << 20
HEAD_BYTES = 10  # "ID3", version, flags, size


def id3_tag(tags: Tags) -> bytes:
    """The tag's bytes; a frame without text is left out, and a tag without frames is empty."""
    bpm = "" if tags.tempo_bpm is None else str(round(tags.tempo_bpm))  # TBPM holds whole numbers
    texts = {
        "TIT2": tags.title,
        "TIT3": tags.stage,
        "TALB": tags.album,
        "TRCK": tags.track,
        "TKEY": initial_key(tags.key),
        "TBPM": bpm,
    }
    frames = b"".join(_frame(name, UTF8 + _utf8(text)) for name, text in texts.items() if text)
    if tags.details:
        # encoding, language, empty description, text
        frames += _frame("COMM", UTF8 + b"eng" + b"\x00" + _utf8(tags.details))
    return b"ID3\x04\x00\x00" + _synchsafe(len(frames)) + frames if frames else b""


def initial_key(key: str) -> str:
    """ID3 spelling of a key, at most three characters: `Bb minor` is `Bbm`; empty if unknown.

    A mode is minor or major by its third.
    """
    try:
        found = parse_key(key)
    except KeyNameError:
        return ""
    return found.tonic_name + ("m" if found.is_minor else "")


def read_tag(path: Path) -> bytes:
    """The tag that a file begins with, as it stands; empty where there is none."""
    with path.open("rb") as file:
        head = file.read(HEAD_BYTES)
        if len(head) < HEAD_BYTES or head[:3] != b"ID3":
            return b""
        size = 0
        for byte in head[6:]:
            size = size << 7 | byte & 0x7F
        return head + file.read(size)


def put_in_front(path: Path, head: bytes) -> None:
    """Insert bytes before what a file holds, moving it chunk by chunk from its end."""
    with path.open("r+b") as file:
        end = file.seek(0, os.SEEK_END)
        for start in reversed(range(0, end, CHUNK_BYTES)):
            file.seek(start)
            chunk = file.read(CHUNK_BYTES)
            file.seek(start + len(head))
            file.write(chunk)
        file.seek(0)
        file.write(head)


def _utf8(text: str) -> bytes:
    return text.encode() + b"\x00"


def _frame(name: str, body: bytes) -> bytes:
    return name.encode("ascii") + _synchsafe(len(body)) + b"\x00\x00" + body


def _synchsafe(size: int) -> bytes:
    """28 bits as four bytes of seven."""
    return bytes((size >> shift) & 0x7F for shift in (21, 14, 7, 0))
