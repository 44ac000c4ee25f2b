"""Files written all or nothing: beside their place first, then renamed."""

from __future__ import annotations

import contextlib
import hashlib
import os
from collections.abc import Iterable
from pathlib import Path

from playalong.errors import SurroundingsError, reason


class WriteError(SurroundingsError):
    """A file or folder that cannot be written, and what to look at."""


def make_folder(path: Path) -> None:
    try:
        path.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise WriteError(f"cannot make the folder {path}: {reason(error)}") from error


def part_of(path: Path) -> Path:
    """Where a file is written before it is whole: one name, so a stopped run leaves no heap."""
    return path.with_name(f".{path.name}.part")


def remove_parts(out: Path, names: Iterable[str]) -> None:
    """Take away what a build that was killed left unfinished."""
    for name in names:
        part_of(out / name).unlink(missing_ok=True)


def write_bytes(path: Path, content: bytes) -> None:
    """Write a file whole or not at all; the old one stays until the new one is complete."""
    part = part_of(path)
    try:
        part.write_bytes(content)
        os.replace(part, path)
    except OSError as error:
        raise WriteError(
            f"cannot write {path}: {reason(error)}; check that the folder may be written to "
            "and has room"
        ) from error
    finally:
        with contextlib.suppress(OSError):
            part.unlink()


def write_text(path: Path, text: str) -> None:
    write_bytes(path, text.encode("utf-8"))


def sha256(path: Path) -> str:
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()
