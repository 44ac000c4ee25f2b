"""What a take is filtered with, against scipy.signal and against sounds that are known exactly."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.signal import butter, fftconvolve, freqs

from playalong.take.filters import at_rate, banded, convolved, twice_as_dense

RATE_HZ = 44_100
EDGE_FRAMES = 64  # of a stretch, where filters reach beyond it


def tone(hz, rate_hz=RATE_HZ, seconds=0.2):
    turns = hz * np.arange(round(seconds * rate_hz)) / rate_hz
    return np.sin(2 * np.pi * turns).astype(np.float32)


def noise(shape):
    return np.random.default_rng(7).normal(size=shape).astype(np.float32)


@pytest.mark.parametrize("hz", [55, 440, 3_000, 9_500, 16_000])
def test_samples_between_samples_are_those_of_the_tone_to_80_db(hz):
    dense, exact = twice_as_dense(tone(hz)), tone(hz, 2 * RATE_HZ)
    inner = slice(2 * EDGE_FRAMES, -2 * EDGE_FRAMES)
    assert np.abs(dense - exact)[inner].max() < 1e-4


@pytest.mark.parametrize("rate_hz", [8_000, 22_050, 44_100, 48_000, 44_103, 96_000])
def test_the_head_of_a_track_is_the_same_tone_at_every_rate(rate_hz):
    swell = np.hanning(round(0.2 * RATE_HZ)).astype(np.float32)
    read = at_rate(tone(1_500) * swell, rate_hz)
    exact = tone(1_500, rate_hz) * np.hanning(round(0.2 * rate_hz))
    assert len(read) == len(exact)
    assert np.abs(read - exact).max() < 2e-3


@pytest.mark.parametrize("hz", [400, 1_000, 2_000, 5_000, 9_500, 13_000])
def test_the_band_of_the_sweeps_is_that_of_a_butterworth_filter_both_ways_and_comes_no_later(hz):
    inner = slice(2_000, -2_000)
    turns = np.exp(2j * np.pi * hz * np.arange(RATE_HZ) / RATE_HZ)[inner]
    passed = np.vdot(turns, banded(tone(hz, seconds=1), RATE_HZ)[inner])
    passed /= np.vdot(turns, tone(hz, seconds=1)[inner])
    edges = ((1_000, "high"), (9_500, "low"))
    once = [freqs(*butter(4, edge, kind, analog=True), [hz])[1] for edge, kind in edges]
    assert passed == pytest.approx(np.prod(np.abs(once)) ** 2, abs=1e-3)


@pytest.mark.parametrize("shape", [(1_000,), (3, 1_000)])
def test_two_sounds_are_convolved_along_their_last_axis(shape):
    long, short = noise(shape), noise((*shape[:-1], 77))
    exact = fftconvolve(long.astype(float), short.astype(float), axes=-1)
    assert np.allclose(convolved(long, short), exact, atol=1e-3)
