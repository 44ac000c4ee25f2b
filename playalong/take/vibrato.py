"""Vibrato: the sinusoid of 4 to 8 Hz that a pitch goes along, and what is left without it."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from playalong.take.spectra import Floats

RATES_HZ = np.arange(4.0, 8.01, 0.2)
LEAST_CENTS = 4.0
LEAST_SECONDS = 0.28
REST_SECONDS = 0.1
LEAST_TIMES = 8
SMEARED = 1.08  # by which window (3 in 100) and room made takes of known truth narrower
EXPLAINED = 0.5  # of the variance


@dataclass(frozen=True)
class Vibrato:
    """Centre and size to each side; without a rate there is none, and the centre is the mean."""

    centre_cents: float = 0.0
    cents: float = 0.0
    hz: float | None = None
    rest_cents: float = 0.0  # of the deviation from it


def swinging(times: Floats, cents: Floats) -> Vibrato:
    """The centre of all, and the size before the hand comes to rest for the next note."""
    whole = vibrato(times, cents)
    before = times < times[-1] - REST_SECONDS
    if whole.hz is None:
        return whole
    inner = vibrato(times[before], cents[before]) if before.sum() >= LEAST_TIMES else whole
    found = whole if inner.hz is None else inner
    return replace(whole, cents=SMEARED * found.cents, hz=found.hz)


def vibrato(times: Floats, cents: Floats) -> Vibrato:
    """The best fit, if one explains how a pitch moves."""
    deviation = float(np.std(cents))
    best = Vibrato(float(np.mean(cents)), rest_cents=deviation)
    if times[-1] - times[0] < LEAST_SECONDS:
        return best
    left = (1 - EXPLAINED) * len(cents) * deviation**2
    for rate in RATES_HZ:
        turn = 2 * np.pi * rate * times
        parts = np.stack([np.ones_like(times), np.sin(turn), np.cos(turn)], 1)
        found, rest = np.linalg.lstsq(parts, cents, rcond=None)[:2]
        size = float(np.hypot(found[1], found[2]))
        if len(rest) and rest[0] < left and size > LEAST_CENTS:
            left = float(rest[0])
            best = Vibrato(float(found[0]), size, float(rate), float(np.sqrt(left / len(cents))))
    return best
