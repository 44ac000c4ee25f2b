import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.signal import resample_poly

from playalong.sound.resample import _low_pass, at_48k


def resampled(sound, cuts=()):
    pieces = np.split(sound, sorted(min(cut, len(sound)) for cut in cuts))
    return list(at_48k(pieces))


@settings(max_examples=20, deadline=None)
@given(
    frames=st.integers(1, 60_000),
    cuts=st.lists(st.integers(0, 60_000), max_size=8),
    channels=st.sampled_from([1, 2]),
)
def test_blocks_are_resampled_as_the_whole_at_once(frames, cuts, channels):
    sound = np.random.default_rng(frames).uniform(-1, 1, (frames, channels)).astype(np.float32)
    blocks = resampled(sound, cuts)
    assert max(map(len, blocks)) <= 16_384
    together = np.concatenate(blocks)
    assert len(together) == math.ceil(frames * 160 / 147)
    whole = resample_poly(sound, 160, 147, axis=0, window=_low_pass())
    assert together == pytest.approx(whole, abs=1e-5)


@pytest.mark.parametrize("hz", [100, 1000, 9000, 15_000, 20_000])
def test_a_tone_stays_itself_to_minus_80_db_after_ten_seconds(hz):
    time = np.arange(441_000) / 44_100
    tone = np.sin(2 * np.pi * hz * time).astype(np.float32)[:, np.newaxis]
    back = np.concatenate(resampled(tone, range(0, 441_000, 5000)))[:, 0]
    ideal = np.sin(2 * np.pi * hz * np.arange(len(back)) / 48_000)
    assert np.abs(back - ideal)[1000:-1000].max() < 10 ** (-80 / 20)


def test_nothing_stays_nothing():
    assert list(at_48k([])) == []
