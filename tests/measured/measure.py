"""Measuring sound without a line of the project's: Praat, scipy and plain arithmetic.

Times are seconds from the first frame, levels db re full scale, sounds mono float64 at 44.1 kHz.
`test_measure.py` holds each of these to signals whose answer is known.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import parselmouth
from numpy.typing import NDArray
from scipy.interpolate import CubicSpline
from scipy.ndimage import gaussian_filter1d, uniform_filter1d
from scipy.signal import chirp, correlate, hilbert

RATE_HZ = 44_100
SILENCE_DB = -200.0

Floats = NDArray[np.float64]
HzAt = Callable[[Floats], Floats]


def cents(hz: Floats | float, reference_hz: Floats | float) -> Floats:
    return np.asarray(1200 * np.log2(np.asarray(hz) / reference_hz))


def times(sound: Floats) -> Floats:
    return np.arange(len(sound)) / RATE_HZ


def cut(sound: Floats, start: float, end: float) -> Floats:
    return sound[max(0, round(start * RATE_HZ)) : round(end * RATE_HZ)]


def praat_cents_off(sound: Floats, start: float, end: float, hz: float) -> Floats:
    """Deviation from `hz`, every 5 ms, by Praat's autocorrelation (Boersma 1993).

    The window is twelve periods and at least 50 ms, over which the noise of a bow comes out
    even; all of it lies between `start` and `end`.
    """
    praat = parselmouth.Sound(cut(sound, start, end), RATE_HZ)
    heard = praat.to_pitch_ac(
        time_step=0.005,
        pitch_floor=min(hz / 2, 6 / 0.050),
        pitch_ceiling=hz * 2,
        very_accurate=True,
    )
    found = heard.selected_array["frequency"]
    return cents(found[found > 0], hz)


def curve_hz(points: list[list[float]]) -> HzAt:
    """A slide's curve, at rest at both ends and held outside, through its (seconds, hz) points."""
    at, hz = np.array(points).T
    spline = CubicSpline(at, np.log2(hz), bc_type="clamped")
    return lambda seconds: np.asarray(2 ** spline(np.clip(seconds, at[0], at[-1])))


def followed_cents_off(
    sound: Floats, expected: HzAt, partial: int = 1, smooth: float | None = None
) -> tuple[Floats, Floats]:
    """Deviation from a moving pitch at every frame, and the strength of the partial (amplitude).

    The sound is turned back by the phase of the expected partial, which brings it to rest at
    0 Hz; what turning is left, seen through a Gaussian of `smooth` seconds, is the deviation
    (complex demodulation). The default lets 85 db less of the neighbouring partials through,
    and is 2 ms at least, since a shorter one follows the noise of the bow.
    """
    hz = partial * expected(times(sound))
    slowest = float(hz.min()) / partial
    turned = sound * np.exp(-2j * np.pi * np.cumsum(hz) / RATE_HZ)
    sigma = (max(0.70 / slowest, 0.002) if smooth is None else smooth) * RATE_HZ
    rest = gaussian_filter1d(turned, sigma, truncate=5)
    turning_hz = np.gradient(np.unwrap(np.angle(rest))) * RATE_HZ / (2 * np.pi)
    return cents(np.maximum(1 + turning_hz / hz, 1e-3), 1.0), 2 * np.abs(rest)


def strongest_partial(sound: Floats, hz: float, most: int = 4, below_hz: float = 6000) -> int:
    """Which of the first partials of a held pitch is the strongest."""
    held = times(sound)
    found = [
        abs(np.mean(sound * np.hanning(len(sound)) * np.exp(-2j * np.pi * n * hz * held)))
        for n in range(1, most + 1)
        if n == 1 or n * hz < below_hz
    ]
    return int(np.argmax(found)) + 1


def envelope(sound: Floats, hz: float) -> Floats:
    """Amplitude at every frame: the root of the mean square over one period."""
    width = max(1, round(RATE_HZ / hz))
    return np.asarray(np.sqrt(np.maximum(uniform_filter1d(sound**2, width), 0)))


def onset(level: Floats, start: float, end: float) -> float:
    """Where the line through 20 to 80 % of a rise between two times meets zero.

    `level` is an envelope that rises from near zero to its held level before `end`.
    """
    rise = cut(level, start, end)
    top = float(np.median(rise[len(rise) * 3 // 4 :]))
    high = int(np.argmax(rise >= 0.8 * top))
    low = int(np.nonzero(rise[:high] <= 0.2 * top)[0][-1])
    slope, offset = np.polyfit(np.arange(low, high + 1), rise[low : high + 1], 1)
    return max(0, round(start * RATE_HZ)) / RATE_HZ - offset / slope / RATE_HZ


def first_sound(sound: Floats, start: float, end: float, share: float = 0.1) -> float:
    """When a tap first reaches a share of its peak."""
    span = np.abs(cut(sound, start, end))
    return float(np.argmax(span >= share * span.max())) / RATE_HZ + round(start * RATE_HZ) / RATE_HZ


def level_db(sound: Floats) -> float:
    return float(10 * np.log10(max(float(np.mean(sound**2)), 1e-20))) if len(sound) else SILENCE_DB


def levels_db(sound: Floats, window: float) -> Floats:
    """RMS level over a window centred on every frame."""
    mean = uniform_filter1d(sound**2, max(1, round(window * RATE_HZ)))
    return np.asarray(10 * np.log10(np.maximum(mean, 1e-20)))


def ripple_db(sound: Floats, window: float = 0.1) -> float:
    """Loudest less softest RMS over whole windows inside the sound."""
    edge = round(window * RATE_HZ / 2) + 1
    inside = levels_db(sound, window)[edge:-edge]
    return float(inside.max() - inside.min())


def sweep() -> Floats:
    """The sweep as it is described: 20 ms, 1 to 9 kHz, sloping over a fifth at either end."""
    count = round(0.020 * RATE_HZ)
    at = (np.arange(count) + 0.5) / RATE_HZ
    slope = np.clip(np.minimum(at, 0.020 - at) / 0.004, 0, 1)
    return np.asarray(chirp(at, 1000, 0.020, 9000, phi=-90) * np.sin(np.pi / 2 * slope) ** 2)


def matched_times(sound: Floats, pattern: Floats, near: list[float], reach: float) -> list[float]:
    """Where a known pattern starts, near each given time: the envelope peak of its matched filter.

    Between frames the peak is that of a parabola through three of them.
    """
    found = []
    for at in near:
        first = max(0, round((at - reach) * RATE_HZ))
        span = sound[first : round((at + reach) * RATE_HZ) + len(pattern)]
        match = np.abs(hilbert(correlate(span, pattern, "valid")))
        peak = int(np.clip(np.argmax(match), 1, len(match) - 2))
        left, top, right = match[peak - 1 : peak + 2]
        found.append((first + peak + (left - right) / (left - 2 * top + right) / 2) / RATE_HZ)
    return found
