"""One at a time in a folder: whoever makes, mails or changes something there holds its lock."""

from __future__ import annotations

import contextlib
import os
from collections.abc import Iterator
from pathlib import Path

from playalong.errors import SurroundingsError, reason
from playalong.folder.files import LinkError, WriteError, make_folder
from playalong.folder.inside import is_link
from playalong.folder.names import RECORD_FOLDER

LOCK = "lock"


class FolderBusyError(SurroundingsError):
    """Another build is at work in the folder."""


@contextlib.contextmanager
def locked(out: Path) -> Iterator[None]:
    """The folder, while nobody else can lock it; FolderBusyError if somebody has."""
    from filelock import FileLock, Timeout

    make_folder(out)
    for path in (out / RECORD_FOLDER, out / RECORD_FOLDER / LOCK):
        if is_link(path):
            raise LinkError(path)
    make_folder(out / RECORD_FOLDER)
    lock = FileLock(out / RECORD_FOLDER / LOCK)
    try:
        lock.acquire(timeout=0)
    except Timeout:
        raise FolderBusyError(
            f"another build is at work in {out}; wait for it, or choose another folder with --out"
        ) from None
    except OSError as error:
        raise WriteError(f"cannot write in {out}: {reason(error)}") from error
    try:
        yield
    finally:
        lock.release()


def still(out: Path) -> contextlib.AbstractContextManager[None]:
    """The folder for somebody who only reads: no build changes it meanwhile. Where no build has
    been, or none could write, nothing is locked."""
    place = out / RECORD_FOLDER
    can_change = place.is_dir() and os.access(place, os.W_OK)
    return locked(out) if can_change else contextlib.nullcontext()
