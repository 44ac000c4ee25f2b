"""Sound kept on disk comes back as it was, as often as it is asked for."""

from __future__ import annotations

import numpy as np

from playalong.sound.disk_buffer import CHUNK_FRAMES, DiskBuffer


def test_readers_of_a_buffer_may_take_turns() -> None:
    sound = np.random.default_rng(7).normal(size=CHUNK_FRAMES * 2 + 100).astype(np.float32)
    buffer = DiskBuffer(np.array_split(sound, 7))
    try:
        pairs = list(zip(buffer.blocks(), buffer.blocks(), strict=True))
    finally:
        buffer.close()
    assert [len(one) for one, _ in pairs] == [CHUNK_FRAMES, CHUNK_FRAMES, 100]
    for side in zip(*pairs, strict=True):
        assert np.array_equal(np.concatenate(side), sound)
