"""Filters of a take, by scipy's transforms alone: to import scipy.signal takes a second, as long as
a short take is listened to."""

from __future__ import annotations

import functools

import numpy as np

from playalong.performance.clock import SAMPLE_RATE_HZ
from playalong.take.recording import Samples
from playalong.take.spectra import Floats

BAND_HZ = (1000.0, 9500.0)  # of the sweeps
BETWEEN_FRAMES = 32  # to each side, by which a sample between two others is found
KAISER_BETA = 8.6  # 90 dB


def banded(sound: Samples, rate_hz: int) -> Samples:
    """The band of the sweeps, as a Butterworth filter of order 4 passes it both ways: none late."""
    from scipy.fft import irfft, next_fast_len, rfft

    length = next_fast_len(len(sound), real=True)
    hz = np.fft.rfftfreq(length, 1 / rate_hz).astype(np.float32)
    low_hz, high_hz = BAND_HZ[0], min(BAND_HZ[1], 0.45 * rate_hz)
    passed = 1 / (1 + (low_hz / np.maximum(hz, 1)) ** 8) / (1 + (hz / high_hz) ** 8)
    return np.asarray(irfft(rfft(sound, length) * passed, length)[: len(sound)])


def convolved(long: Samples | Floats, short: Samples | Floats) -> Floats:
    """Along the last axis, whole: as long as both together, less one."""
    from scipy.fft import irfft, next_fast_len, rfft

    whole = long.shape[-1] + short.shape[-1] - 1
    length = next_fast_len(whole, real=True)
    return np.asarray(irfft(rfft(long, length) * rfft(short, length), length)[..., :whole])


def at_rate(sound: Samples, rate_hz: int) -> Samples:
    """Less than a second at 44.1 kHz, at another rate."""
    from scipy.fft import irfft, rfft

    ratio = rate_hz / SAMPLE_RATE_HZ
    whole_second = irfft(rfft(sound, SAMPLE_RATE_HZ), rate_hz) * np.float32(ratio)
    return np.asarray(whole_second[: round(len(sound) * ratio)])


def twice_as_dense(sound: Samples) -> Samples:
    """Every sample, and after it one that lies half way to the next (Kaiser's windowed sinc)."""
    dense = np.empty(2 * len(sound), np.float32)
    dense[::2] = sound
    dense[1::2] = np.convolve(sound, _half_way())[BETWEEN_FRAMES:][: len(sound)]
    return dense


@functools.cache
def _half_way() -> Samples:
    away = np.arange(-BETWEEN_FRAMES, BETWEEN_FRAMES) + 0.5
    taps = np.sinc(away) * np.kaiser(len(away), KAISER_BETA)
    return np.asarray(taps / taps.sum(), np.float32)
