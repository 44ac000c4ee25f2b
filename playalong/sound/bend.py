"""Pitches as MIDI has them: a key, and a bend away from it.

By the standard's formula cents = (value - 8192) * 100 * range / 8192, with the range in
semitones as RPN 0 sends it (MIDI 1.0).
"""

from __future__ import annotations

from collections.abc import Sequence

from playalong.music.temperament import A4, cents
from playalong.performance.performance import Tone

BEND_CENTRE, BEND_TOP = 8192, 16383
BEND_RANGES = (12, 24, 48)  # semitones; the least that holds every bend of the file
BEND_MARGIN_CENTS = 5


def bend_value(bend_cents: float, semitones: int) -> int:
    """The 14-bit bend nearest to so many cents at a range of `semitones` either way."""
    value = BEND_CENTRE + round(bend_cents * BEND_CENTRE / (100 * semitones))
    return min(max(value, 0), BEND_TOP)


def bend_cents(value: int, semitones: float) -> float:
    """What a bend value means by the standard's formula."""
    return (value - BEND_CENTRE) * 100 * semitones / BEND_CENTRE


def key_cents(hz: float, key: int) -> float:
    """How far `hz` stands above a MIDI key (A4 = 440 Hz), in cents."""
    return cents(hz, 440.0) - 100 * (key - A4.key_number)


def key_and_bend(tone: Tone) -> tuple[int, float]:
    """The MIDI key of a tone and the widest bend it needs, in cents.

    The key is the written note's; where a chain of slides leads further than the smallest
    bend range, the key halfway.
    """
    hz = [tone.hz, *(slide.glide.to_hz for slide in tone.slides)]
    hz += [slide.glide.from_hz for slide in tone.slides]
    low, high = key_cents(min(hz), 0), key_cents(max(hz), 0)

    def widest(key: int) -> float:
        return max(high - 100 * key, 100 * key - low)

    named = tone.pitch.key_number
    halfway = round((low + high) / 200)
    key = named if widest(named) <= 100 * BEND_RANGES[0] - BEND_MARGIN_CENTS else halfway
    return key, widest(key)


def least_range(tones: Sequence[Tone]) -> int:
    """The narrowest bend range, in semitones, that holds every bend of these tones."""
    widest = max((key_and_bend(tone)[1] for tone in tones), default=0.0) + BEND_MARGIN_CENTS
    return next(semitones for semitones in BEND_RANGES if 100 * semitones >= widest)
