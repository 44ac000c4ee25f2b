"""Straight tones: loops of whole periods, written as the bins of one inverse Fourier transform.

Nothing wavers: each partial is one bin, noise is the other bins at random but fixed phase, so
that the end of the loop runs on into its start and every turn is the same.
"""

from __future__ import annotations

import hashlib
import math

import numpy as np
from numpy.typing import NDArray
from sf2 import Sample
from voices import Body, Voice

Floats = NDArray[np.float64]

FULL_SCALE = 32_767
MARGIN_POINTS = 32  # of the loop's own course before it and after it
TOP_HZ, FADE_HZ = 10_000.0, 7_500.0  # no partial above the top, so that bends do not alias
NOISE_LOW_HZ = 120.0
PHASE_DRAW = 2  # of 25 draws, the one whose level over 100 ms is steadiest in every voice
TRUE_CENTS = 0.002  # how near its key a loop has to stand
EDGE = 1e-9  # the last-bit noise of a transform is about 1e-11 here


def key_hz(key: int) -> float:
    """Equal temperament at A4 = 440 Hz."""
    return float(440 * 2 ** ((key - 69) / 12))


def to_points(wave: Floats) -> NDArray[np.int16]:
    """Full-scale-1 samples as int16.

    Math libraries differ in a float's last bit. Such a difference could turn a rounding only
    where a sample lies on the edge between two integers, so a recipe that comes within a
    hundred times that noise of an edge is refused: the same bytes on every machine.
    """
    scaled = wave * FULL_SCALE
    if np.abs(scaled).max() > FULL_SCALE:
        raise ValueError("the wave is louder than full scale")
    if np.abs(scaled - np.floor(scaled) - 0.5).min() < EDGE:
        raise ValueError("a sample lies on a rounding edge: change the recipe a little")
    return np.rint(scaled).astype(np.int16)


def k_weight(hz: Floats) -> Floats:
    """Amplitude gain of the two K-weighting filters (ITU-R BS.1770, 48 kHz coefficients)."""
    z = np.exp(-2j * np.pi * np.asarray(hz) / 48_000)
    shelf = (1.53512485958697 - 2.69169618940638 * z + 1.19839281085285 * z**2) / (
        1 - 1.69065929318241 * z + 0.73248077421585 * z**2
    )
    high_pass = (1 - z) ** 2 / (1 - 1.99004745483398 * z + 0.99007225036621 * z**2)
    return np.asarray(np.abs(shelf * high_pass), dtype=np.float64)


def radiation(body: Body, hz: Floats) -> Floats:
    """Amplitude gain of a body: powers of floor and peaks add, so no notch can fall on a note."""
    power = np.ones_like(hz)
    for peak_hz, q, height_db in body.peaks:
        power += (10 ** (height_db / 10) - 1) / (1 + (q * (hz / peak_hz - peak_hz / hz)) ** 2)
    low = (hz / body.low_hz) ** 2 / (1 + (hz / body.low_hz) ** 2)
    high = (1 + (hz / body.high_hz) ** 2) ** -1.5
    fade = np.clip((TOP_HZ - hz) / (TOP_HZ - FADE_HZ), 0, 1)
    return np.asarray(np.sqrt(power) * low * high * (3 - 2 * fade) * fade**2, dtype=np.float64)


def whole_periods(key: int, rate_hz: int, seconds: float) -> tuple[int, int, int]:
    """Periods, points and whole sample rate near those asked for, for a loop true to its key."""
    hz = key_hz(key)
    first = max(1, round(seconds * hz))
    for periods in range(first, first + 20):
        near = round(periods * rate_hz / hz)
        for points in range(near - near // 100, near + near // 100):
            exact_rate = round(hz * points / periods)
            if abs(1200 * math.log2(exact_rate * periods / (points * hz))) < TRUE_CENTS:
                return periods, points, exact_rate
    raise ValueError(f"no loop near {seconds} s at {rate_hz} Hz is true to key {key}")


def random_turns(name: str, count: int) -> Floats:
    """Phases in turns, multiples of 1/256, fixed for a name for ever (SHAKE-128, FIPS 202)."""
    raw = hashlib.shake_128(name.encode("ascii")).digest(count)
    return np.frombuffer(raw, dtype=np.uint8) / 256


def partial_gains(voice: Voice, hz: Floats) -> Floats:
    """Amplitude of each partial of a voice, from the first; shape as `hz`."""
    if voice.partials_db is None:
        source = 1 / np.arange(1, len(hz) + 1)
    else:
        source = np.zeros(len(hz))
        kept = np.array(voice.partials_db[: len(hz)])
        source[: len(kept)] = 10 ** (kept / 20)
    return source * radiation(voice.body, hz)


def tone(voice: Voice, key: int) -> Sample:
    """One looped sample of a voice, as loud as its table says."""
    rate_hz, seconds = (44_100, 0.6) if key_hz(key) > 1_000 else (32_000, 1.0)
    periods, points, rate_hz = whole_periods(key, rate_hz, voice.loop_seconds * seconds)
    hz = np.arange(points // 2 + 1) * (rate_hz / points)
    partials = np.arange(periods, int(TOP_HZ * points / rate_hz), periods)
    weight = k_weight(hz)

    tonal = np.zeros(len(hz))
    tonal[partials] = partial_gains(voice, hz[partials])
    noise = np.zeros(len(hz))
    audible = (hz > NOISE_LOW_HZ) & (hz < TOP_HZ)
    noise[audible] = radiation(voice.body, hz[audible])
    noise[partials] = 0
    tonal *= 10 ** (voice.level_db / 20) / loudness(tonal, weight)
    noise *= 10 ** ((voice.level_db + voice.noise_db) / 20) / loudness(noise, weight)

    turns = random_turns(f"{voice.name} {key}", len(hz))
    turns[partials] = random_turns(f"{PHASE_DRAW}{voice.name}", len(partials))
    # Half the amplitude in each of a bin's two mirror halves; numpy divides by `points`.
    bins = (tonal + noise) * np.exp(2j * np.pi * turns) * (points / 2)
    loop = to_points(np.fft.irfft(bins, points))
    with_margins = np.concatenate([loop[-MARGIN_POINTS:], loop, loop[:MARGIN_POINTS]])
    return Sample(
        name=f"{voice.name} {key}",
        root_key=key,
        rate_hz=rate_hz,
        points=with_margins,
        loop_start=MARGIN_POINTS,
        loop_end=MARGIN_POINTS + points,
    )


def loudness(amplitudes: Floats, weight: Floats) -> float:
    """Root of the K-weighted mean square of sines with these amplitudes."""
    return float(np.sqrt(np.sum((amplitudes * weight) ** 2) / 2))
