"""44.1 kHz to 48 kHz for Opus, which knows no other rate near ours; in blocks, without drift.

48000 / 44100 = 160 / 147 exactly, so frame n lands at 160 n / 147 however long the stream is.
Each block is resampled together with frames on both sides, more than the filter reaches, which
makes the result that of resampling the whole at once.
"""

from __future__ import annotations

import functools
from collections.abc import Iterable, Iterator

import numpy as np
from numpy.typing import NDArray

UP, DOWN = 160, 147
REACH_FRAMES = 32  # of the filter, to either side: flat and 90 dB clean up to 20 kHz
AROUND_FRAMES = DOWN  # on both sides, a whole number of ratios
BLOCK_FRAMES = 100 * DOWN


def at_48k(blocks: Iterable[NDArray[np.float32]]) -> Iterator[NDArray[np.float32]]:
    """Blocks (frames, channels) at 44.1 kHz to blocks of at most 16,000 frames at 48 kHz.

    `frames` in all become the next whole number at or above frames · 160 / 147.
    """
    waiting: NDArray[np.float32] | None = None  # begins with the frames before the next block
    for block in blocks:
        if waiting is None:
            waiting = np.zeros((AROUND_FRAMES, block.shape[1]), np.float32)
        waiting = np.concatenate([waiting, block])
        while len(waiting) >= BLOCK_FRAMES + 2 * AROUND_FRAMES:
            yield _resampled(waiting[: BLOCK_FRAMES + 2 * AROUND_FRAMES], BLOCK_FRAMES)
            waiting = waiting[BLOCK_FRAMES:]
    if waiting is not None and len(waiting) > AROUND_FRAMES:
        yield _resampled(waiting, len(waiting) - AROUND_FRAMES)


def _resampled(window: NDArray[np.float32], frames: int) -> NDArray[np.float32]:
    """The `frames` after the first AROUND_FRAMES of a window, at 48 kHz."""
    from scipy.signal import resample_poly  # most of a second to import: only for Opus

    start = AROUND_FRAMES // DOWN * UP
    length = -(-frames * UP // DOWN)
    whole = resample_poly(window, UP, DOWN, axis=0, window=_low_pass())
    return np.ascontiguousarray(whole[start : start + length], np.float32)


@functools.cache
def _low_pass() -> NDArray[np.float64]:
    """At half of 44.1 kHz, for the rate that both have in common."""
    from scipy.signal import firwin

    return np.asarray(firwin(2 * UP * REACH_FRAMES + 1, 1 / UP, window=("kaiser", 8.6)))
