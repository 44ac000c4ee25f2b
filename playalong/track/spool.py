"""Sound that is needed twice, kept in a temporary file so that memory does not grow with it."""

from __future__ import annotations

import tempfile
from collections.abc import Iterator
from typing import IO

import numpy as np
from numpy.typing import NDArray

from playalong.track.mix import Blocks

CHUNK_FRAMES = 65_536


class Spool:
    """Mono float32 sound on disk; each call of `blocks` reads it from the start."""

    def __init__(self, sound: Blocks) -> None:
        self._file: IO[bytes] = tempfile.TemporaryFile(prefix="playalong-")  # noqa: SIM115
        for block in sound:
            self._file.write(np.asarray(block, np.float32).tobytes())
        self._bytes = self._file.tell()

    def blocks(self) -> Iterator[NDArray[np.float32]]:
        """Chunks of 65,536 frames, the last one what is left. Readers may take turns."""
        step = CHUNK_FRAMES * 4
        for at in range(0, self._bytes, step):
            self._file.seek(at)
            yield np.frombuffer(self._file.read(step), np.float32)

    def close(self) -> None:
        self._file.close()
