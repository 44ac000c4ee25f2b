"""Sound that is needed twice, kept in a temporary file so that memory does not grow with it."""

from __future__ import annotations

import contextlib
import tempfile
from collections.abc import Iterator
from typing import IO

import numpy as np
from numpy.typing import NDArray

from playalong.errors import SurroundingsError, reason
from playalong.folder.names import TEMPORARY_PREFIX
from playalong.sound.mix import Blocks

CHUNK_FRAMES = 65_536


class DiskBuffer:
    """Mono float32 sound on disk; each call of `blocks` reads it from the start."""

    def __init__(self, sound: Blocks) -> None:
        self._file: IO[bytes] = _temporary_file()
        for block in sound:
            raw = np.asarray(block, np.float32).tobytes()
            with _errors_in_words():
                self._file.write(raw)
                self._file.flush()
        self._bytes = self._file.tell()

    def blocks(self) -> Iterator[NDArray[np.float32]]:
        """Chunks of 65,536 frames, the last one what is left. Readers may take turns."""
        step = CHUNK_FRAMES * 4
        for at in range(0, self._bytes, step):
            self._file.seek(at)
            yield np.frombuffer(self._file.read(step), np.float32)

    def close(self) -> None:
        self._file.close()


def _temporary_file() -> IO[bytes]:
    with _errors_in_words():
        return tempfile.TemporaryFile(prefix=TEMPORARY_PREFIX)


@contextlib.contextmanager
def _errors_in_words() -> Iterator[None]:
    """Errors of the system in words for the person."""
    try:
        yield
    except OSError as error:
        raise SurroundingsError(
            f"cannot keep sound in {tempfile.gettempdir()} for a moment: "
            f"{reason(error)}; make room there, or name another folder in TMPDIR"
        ) from error
