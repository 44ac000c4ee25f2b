"""Straight tones, and the noise of the bow: loops written as the bins of one inverse transform.

Nothing wavers: each partial of a tone is one bin, so that the end of the loop runs on into its
start and every turn is the same. Noise is all bins at random but fixed phase, in a loop of its own.
"""

from __future__ import annotations

import hashlib
import math
from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray
from sf2 import Sample
from voices import BARE_NOISE_DB, LOOP_SECONDS, NOISE_DB, NOISE_SECONDS, Voice

from playalong.sound.bodies import (
    BARE_DB,
    GUIDE_DB,
    STRING_TOP_HZ,
    TOP_HZ,
    Body,
    k_weight,
    radiation,
    softening_db,
    string_gains,
)

Floats = NDArray[np.float64]

FULL_SCALE = 32_767
MARGIN_POINTS = 32  # of the loop's own course before it and after it
# Of the noise's slope: a bow hisses more than it rumbles, and the low partials stay clear.
NOISE_CORNER_HZ = 400.0
NOISE_RATE_HZ, NOISE_ROOT = 32_000, 60
NOISE_POINTS = round(NOISE_SECONDS * NOISE_RATE_HZ)
# Of 4,000 draws, one of the two that are steadiest over 100 ms in every voice.
PHASE_DRAW = 42
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


def start_turns(hz: Floats) -> Floats:
    """Phases, in turns, of partials at `hz` as every voice starts, drawn once for each half step.

    Partials that two voices share are then in step, whatever the interval, when both start
    together, and no voice has its partials' crests in one place.
    """
    half_steps = np.rint(12 * np.log2(hz / key_hz(0))).astype(int)
    return random_turns(f"phases {PHASE_DRAW}", half_steps[-1] + 1)[half_steps]


def tone(voice: Voice, key: int) -> Sample:
    """One looped sample of a voice, as loud as its table says."""

    def gains(hz: Floats) -> Floats:
        if voice.partials_db is None:
            source = string_gains(hz)
        else:
            source = np.zeros(len(hz))
            kept = np.array(voice.partials_db[: len(hz)])
            source[: len(kept)] = 10 ** (kept / 20)
        wave = source * radiation(voice.body, hz)
        return wave * 10 ** (voice.level_db / 20) / power(wave, k_weight(hz))

    rate_hz = 44_100 if key_hz(key) > 1_000 else 32_000
    return _tone(f"{voice.name} {key}", key, rate_hz, TOP_HZ, gains)


def bare_string(key: int) -> Sample:
    """One looped sample of a string without a body, all of one power."""

    def gains(hz: Floats) -> Floats:
        wave = string_gains(hz)
        return wave * 10 ** (BARE_DB / 20) / power(wave)

    return _tone(f"String {key}", key, 44_100, STRING_TOP_HZ, gains)


def _tone(
    name: str,
    key: int,
    asked_rate_hz: int,
    top_hz: float,
    gains: Callable[[Floats], Floats],
) -> Sample:
    """A loop of whole periods."""
    periods, points, rate_hz = whole_periods(key, asked_rate_hz, LOOP_SECONDS)
    bins = np.zeros(points // 2 + 1, np.complex128)
    partials = np.arange(periods, int(top_hz * points / rate_hz), periods)
    hz = partials * (rate_hz / points)
    # The sample starts before its loop.
    turns = start_turns(hz) + partials * MARGIN_POINTS / points
    # Half the amplitude in each of a bin's two mirror halves; numpy divides by `points`.
    bins[partials] = gains(hz) * np.exp(2j * np.pi * turns) * (points / 2)
    return _looped(name, key, rate_hz, np.fft.irfft(bins, points))


def noise_gains(body: Body | None) -> Floats:
    """Amplitudes of the bow's noise at the bins of its loop: sloped, and coloured by a body."""
    hz = np.arange(NOISE_POINTS // 2 + 1) * (NOISE_RATE_HZ / NOISE_POINTS)
    audible = (hz > 0) & (hz < TOP_HZ)
    gains = np.zeros(len(hz))
    gains[audible] = hz[audible] / np.hypot(hz[audible], NOISE_CORNER_HZ)
    gains[audible] *= radiation(body, hz[audible]) if body else 1
    return gains


def noise_weight() -> Floats:
    """K-weighting at the bins of the noise's loop."""
    return k_weight(np.arange(NOISE_POINTS // 2 + 1) * (NOISE_RATE_HZ / NOISE_POINTS))


def bow_noise(voice: Voice) -> Sample:
    """The noise of a full voice."""
    gains = noise_gains(voice.body)
    own = power(gains, noise_weight())
    return _noise(voice.name, gains * 10 ** ((voice.level_db + NOISE_DB) / 20) / own)


def bare_noise() -> Sample:
    """The noise of a bow without a body."""
    gains = noise_gains(None)
    return _noise("Bow", gains * 10 ** (BARE_NOISE_DB / 20) / power(gains))


def bare_noise_softening_db(body: Body, key: int) -> float:
    """What takes the bare noise to its level against a bare string at `key`, behind a body."""
    behind_body = power(noise_gains(body), noise_weight()) / power(noise_gains(None))
    heard_db = BARE_NOISE_DB + 20 * math.log10(behind_body) - softening_db(body, key_hz(key))
    return heard_db - (GUIDE_DB + NOISE_DB)


def _noise(name: str, gains: Floats) -> Sample:
    turns = random_turns(f"{name} noise", len(gains))
    bins = gains * np.exp(2j * np.pi * turns) * (NOISE_POINTS / 2)
    loop = np.fft.irfft(bins, NOISE_POINTS)
    return _looped(f"{name} noise", NOISE_ROOT, NOISE_RATE_HZ, loop)


def _looped(name: str, key: int, rate_hz: int, wave: Floats) -> Sample:
    loop = to_points(wave)
    with_margins = np.concatenate([loop[-MARGIN_POINTS:], loop, loop[:MARGIN_POINTS]])
    return Sample(
        name=name,
        root_key=key,
        rate_hz=rate_hz,
        points=with_margins,
        loop_start=MARGIN_POINTS,
        loop_end=MARGIN_POINTS + len(loop),
    )


def power(amplitudes: Floats, weight: Floats | float = 1.0) -> float:
    """Root of the mean square of sines with these amplitudes, weighted."""
    return float(np.sqrt(np.sum((amplitudes * weight) ** 2) / 2))
