"""Files written all or nothing: beside their place first, then renamed. No link is followed."""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
import stat
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import Any, BinaryIO

from playalong.errors import PlayalongError, SurroundingsError, reason
from playalong.folder.inside import is_link

MOST_BRACKETS = 500_000  # of a JSON file; each is some 64 bytes of memory

# Asked, before a whole file takes its place, with that place and the file's hash: where it goes.
Settle = Callable[[Path, str], Path]


class WriteError(SurroundingsError):
    """A file or folder that cannot be written, and what to look at."""


class ReadError(PlayalongError):
    """A file that cannot be read as what it should be."""


class LinkError(WriteError):
    """A link, or what is no file at all, where playalong would write a file of its own."""

    def __init__(self, path: Path) -> None:
        what = "a link" if is_link(path) else "no plain file"
        super().__init__(f"{path} is {what}, and playalong writes through none; move it away")


def make_folder(path: Path) -> None:
    try:
        path.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise WriteError(f"cannot make the folder {path}: {reason(error)}") from error


def open_own(path: Path, flags: int) -> BinaryIO:
    """Open a plain file and nothing else: no link, pipe or device. OSError, or LinkError."""
    if os.path.lexists(path) and not is_plain_file(path):
        raise LinkError(path)
    safe = getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0)
    number = os.open(path, flags | safe, 0o666)
    return os.fdopen(number, "wb") if flags & os.O_WRONLY else os.fdopen(number, "rb")


def is_plain_file(path: Path) -> bool:
    try:
        return stat.S_ISREG(os.lstat(path).st_mode) and not is_link(path)
    except OSError:
        return False


def read_bounded(path: Path, most_bytes: int, what: str) -> bytes:
    """The whole of a file that somebody else wrote: no pipe, no device, and no larger than it may
    be. ReadError names it; `what` says what it is, as in "a list of pupils"."""
    # A pipe that nobody writes to would be waited for.
    safe = getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0)
    try:
        with open(os.open(path, os.O_RDONLY | safe), "rb") as file:
            if not stat.S_ISREG(os.fstat(file.fileno()).st_mode):
                raise ReadError(f"{path} is no file; {what} is read from a file on the disk")
            content = file.read(most_bytes + 1)
            size = os.fstat(file.fileno()).st_size
    except FileNotFoundError:
        raise ReadError(f"there is no {what.partition(' ')[2]} {path}") from None
    except OSError as error:
        raise ReadError(f"cannot read {path}: {reason(error)}") from None
    if len(content) > most_bytes:
        raise ReadError(f"{path} has {size:,} bytes; {what} has {most_bytes:,} at most")
    return content


def read_json(path: Path, most_bytes: int, what: str) -> Any:
    """The data of a JSON file that somebody else may have written. ReadError as `read_bounded`,
    ValueError for what is no JSON, or made to fill the memory."""
    raw = read_bounded(path, most_bytes, what)
    if raw.count(b"[") + raw.count(b"{") > MOST_BRACKETS:
        raise ValueError(f"{what} has less in it")
    try:
        return json.loads(raw)
    except RecursionError:
        raise ValueError("the brackets are nested too deep") from None


def part_of(path: Path) -> Path:
    """Where a file is written before it is whole: one name, so a stopped run leaves no heap."""
    return path.with_name(f".{path.name}.part")


def create_part(path: Path) -> Path:
    """The empty part of a file, made anew. OSError, or LinkError if something else stands there."""
    part = part_of(path)
    _clear(part)
    open_own(part, os.O_WRONLY | os.O_CREAT | os.O_EXCL).close()
    return part


def remove_parts(out: Path, names: Iterable[str]) -> None:
    """Take away what a build that was killed left unfinished."""
    for name in names:
        _clear(part_of(out / name))


def _clear(part: Path) -> None:
    if is_plain_file(part):
        part.unlink()
    elif os.path.lexists(part):
        raise LinkError(part)


def in_its_place(path: Path, sha: str) -> Path:
    return path


def put_in_place(part: Path, path: Path, settle: Settle = in_its_place) -> str:
    """Rename a part that is whole, to where `settle` says; returns its hash. OSError."""
    sha = sha256(part)
    os.replace(part, settle(path, sha))
    return sha


def write_pieces(path: Path, pieces: Iterable[bytes], settle: Settle = in_its_place) -> str:
    """Write a file whole or not at all; the old one stays until the new one is complete.

    Returns its hash. A piece is asked for when it is written, so memory need not hold them all.
    """
    try:
        part = create_part(path)
        try:
            with open_own(part, os.O_WRONLY) as file:
                file.writelines(pieces)
            return put_in_place(part, path, settle)
        finally:
            with contextlib.suppress(OSError):
                part.unlink()
    except OSError as error:
        raise WriteError(
            f"cannot write {path}: {reason(error)}; check that the folder may be written to "
            "and has room"
        ) from error


def write_bytes(path: Path, content: bytes, settle: Settle = in_its_place) -> str:
    """Write a file of one piece, whole or not at all. Returns its hash."""
    return write_pieces(path, (content,), settle)


def write_text(path: Path, text: str, settle: Settle = in_its_place) -> str:
    return write_bytes(path, text.encode("utf-8"), settle)


def sha256_of(text: str) -> str:
    """The hash of a file that holds this text."""
    return hashlib.sha256(text.encode("utf-8")).hexdigest()


def sha256(path: Path) -> str:
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()
