"""One zip of the files: equal files give equal bytes, with names that every system takes.

Files are stored, not deflated: music does not shrink, and the size is known beforehand.
"""

from __future__ import annotations

import re
import unicodedata
import zipfile
from collections.abc import Iterable, Mapping
from io import BytesIO
from pathlib import Path, PurePosixPath

from playalong.folder.names import RESERVED

LONGEST = 120  # characters of a name
_FORBIDDEN = re.compile(r'[<>:"/\\|?*\x00-\x1f\x7f]')
EPOCH = (1980, 1, 1, 0, 0, 0)  # the earliest time that a zip can say
# Fixed parts of the format (APPNOTE 4.3.7, 4.3.12, 4.3.16).
LOCAL_BYTES, CENTRAL_BYTES, END_BYTES = 30, 46, 22


def safe_paths(paths: Iterable[PurePosixPath], folder: str) -> list[str]:
    """Paths within one folder, safe and distinct also where upper and lower case are the same."""
    taken: set[str] = set()
    safe = []
    for each in paths:
        *folders, name = [_safe(part) for part in (folder, *each.parts) if part != ".."]
        stem, dot, ending = name.rpartition(".")
        stem, ending = (stem, dot + ending) if stem else (name, "")
        path, number = "/".join([*folders, name]), 1
        while path.casefold() in taken:
            number += 1
            path = "/".join([*folders, f"{stem}-{number}{ending}"])
        taken.add(path.casefold())
        safe.append(path)
    return safe


def zip_bytes(files: Mapping[str, Path]) -> bytes:
    """A zip of the files by their paths within it, in their order."""
    buffer = BytesIO()
    with zipfile.ZipFile(buffer, "w", zipfile.ZIP_STORED) as archive:
        for name, path in files.items():
            info = zipfile.ZipInfo(name, EPOCH)
            info.create_system = 3  # Unix, whatever the machine, so that bytes repeat
            info.external_attr = 0o100644 << 16
            archive.writestr(info, path.read_bytes())
    return buffer.getvalue()


def predicted_zip_bytes(sizes: Mapping[str, int]) -> int:
    """The size of that zip, from the files' sizes."""
    named = sum(LOCAL_BYTES + CENTRAL_BYTES + 2 * len(name.encode()) for name in sizes)
    return named + sum(sizes.values()) + END_BYTES


def _safe(name: str) -> str:
    plain = _FORBIDDEN.sub("-", unicodedata.normalize("NFC", name))
    stem, dot, ending = plain.rpartition(".")
    plain = (stem[: LONGEST - len(dot + ending)] + dot + ending if stem else plain)[:LONGEST]
    plain = plain.strip(" ").rstrip(".") or "-"
    return f"_{plain}" if plain.partition(".")[0].casefold() in RESERVED else plain
