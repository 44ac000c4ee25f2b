"""Short sounds on percussion keys: wood-block clicks, a low tap, and a sweep to be found again."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from sf2 import Sample
from tones import random_turns, to_points

RATE_HZ = 44_100
TAIL_POINTS = 8
# Above a tenth of a mode's amplitude a tap is held nearly level: as loud with a peak 7 dB lower, so
# that no tap keeps a track from its loudness. Its beginning stays where it is.
KNEE = 0.1


@dataclass(frozen=True)
class Tap:
    """Decaying sines (hz, amplitude, seconds to 1/e) and a burst of contact noise."""

    name: str
    key: int
    peak_db: float
    seconds: float
    modes: tuple[tuple[float, float, float], ...]
    contact: float  # amplitude of the burst
    contact_seconds: float  # to 1/e


TAPS = (
    Tap(
        name="Low tap",
        key=64,
        peak_db=-13.6,
        seconds=0.20,
        modes=((120, 1.0, 0.035), (212, 0.45, 0.022), (390, 0.22, 0.010)),
        contact=0.22,
        contact_seconds=0.003,
    ),
    Tap(
        name="High click",
        key=76,
        peak_db=-10.1,
        seconds=0.12,
        modes=((1180, 1.0, 0.014), (1890, 0.35, 0.008), (3050, 0.22, 0.004)),
        contact=0.15,
        contact_seconds=0.0015,
    ),
    Tap(
        name="Low click",
        key=77,
        peak_db=-13.2,
        seconds=0.14,
        modes=((785, 1.0, 0.018), (1290, 0.35, 0.010), (2100, 0.22, 0.005)),
        contact=0.15,
        contact_seconds=0.0015,
    ),
)

SWEEP_NAME, SWEEP_KEY, SWEEP_PEAK_DB = "Sweep", 75, -10.0
SWEEP_SECONDS, SWEEP_FROM_HZ, SWEEP_TO_HZ = 0.020, 1_000.0, 9_000.0
SWEEP_EDGE = 0.2  # of its length, for each cosine slope


def tap(spec: Tap) -> Sample:
    """A tap whose first point already moves."""
    at = np.arange(1, round(spec.seconds * RATE_HZ) + 1) / RATE_HZ
    wave, envelope = np.zeros(len(at)), np.zeros(len(at))
    for hz, amplitude, decay in spec.modes:
        wave += amplitude * np.sin(2 * np.pi * hz * at) * np.exp(-at / decay)
        envelope += amplitude * np.exp(-at / decay)
    noise = 2 * random_turns(spec.name, len(at)) - 1
    wave += spec.contact * noise * np.exp(-at / spec.contact_seconds)
    envelope += spec.contact * np.exp(-at / spec.contact_seconds)
    wave /= np.sqrt(1 + (envelope / KNEE) ** 2)
    wave *= np.minimum(1, (at[-1] - at) / 0.02 + 1e-4)  # no click at the end
    return _one_shot(spec.name, spec.key, spec.peak_db, wave)


def sweep() -> Sample:
    """Equal time for every hertz, so that its matched filter has one narrow peak."""
    count = round(SWEEP_SECONDS * RATE_HZ)
    at = (np.arange(count) + 0.5) / RATE_HZ
    rise_hz_per_second = (SWEEP_TO_HZ - SWEEP_FROM_HZ) / SWEEP_SECONDS
    wave = np.sin(2 * np.pi * (SWEEP_FROM_HZ * at + rise_hz_per_second * at**2 / 2))
    place = at / SWEEP_SECONDS
    slope = np.clip(np.minimum(place, 1 - place) / SWEEP_EDGE, 0, 1)
    return _one_shot(SWEEP_NAME, SWEEP_KEY, SWEEP_PEAK_DB, wave * np.sin(np.pi / 2 * slope) ** 2)


def _one_shot(name: str, key: int, peak_db: float, wave: NDArray[np.float64]) -> Sample:
    wave = np.concatenate([wave * 10 ** (peak_db / 20) / np.abs(wave).max(), np.zeros(TAIL_POINTS)])
    # A record must name a loop even where none is played.
    return Sample(
        name=name,
        root_key=key,
        rate_hz=RATE_HZ,
        points=to_points(wave),
        loop_start=TAIL_POINTS,
        loop_end=len(wave) - TAIL_POINTS,
    )
