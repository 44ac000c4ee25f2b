"""Tuning: spelled pitches to frequencies.

Equal temperament takes A4 and nothing else. Pythagorean tuning goes outward from A by pure
fifths along the line of fifths, so a sharp is higher than the flat beside it. Just tuning puts
the tonic where Pythagorean tuning has it (so that it rings with strings tuned in fifths from A)
and every other degree at a 5-limit ratio above the tonic.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from fractions import Fraction

from playalong.errors import PlayalongError, nearest, short
from playalong.music.key import Key
from playalong.music.pitch import Pitch

TEMPERAMENT_WORDS = {  # what a player calls each
    "equal": "equal temperament",
    "pythagorean": "pure fifths",
    "just": "just intonation",
}
TEMPERAMENTS = tuple(TEMPERAMENT_WORDS)
A4 = Pitch.of("A4")
A4_RANGE_HZ = (380.0, 480.0)

# Place on the line of fifths above the tonic -> ratio above the tonic, within one octave.
JUST_RATIOS = {
    0: Fraction(1),
    1: Fraction(3, 2),
    2: Fraction(9, 8),
    3: Fraction(5, 3),
    4: Fraction(5, 4),
    5: Fraction(15, 8),
    6: Fraction(45, 32),
    7: Fraction(135, 128),
    8: Fraction(25, 16),
    9: Fraction(75, 64),
    10: Fraction(225, 128),
    -1: Fraction(4, 3),
    -2: Fraction(9, 5),
    -3: Fraction(6, 5),
    -4: Fraction(8, 5),
    -5: Fraction(16, 15),
    -6: Fraction(64, 45),
}
CHROMATIC_STEP = Fraction(135, 128)  # one alteration more than the table names


def cents(hz: float, reference_hz: float) -> float:
    """How far `hz` stands above `reference_hz`, in cents."""
    return 1200 * math.log2(hz / reference_hz)


@dataclass(frozen=True)
class Tuning:
    """A temperament at a pitch of A4, in Hz."""

    a4_hz: float = 440.0
    temperament: str = "equal"

    def __post_init__(self) -> None:
        low, high = A4_RANGE_HZ
        if not low <= self.a4_hz <= high:
            raise PlayalongError(f"A4 = {self.a4_hz:g} Hz is outside {low:g} to {high:g} Hz")
        if self.temperament not in TEMPERAMENTS:
            hint = nearest(self.temperament, TEMPERAMENTS)
            raise PlayalongError(f'"{short(self.temperament)}" is not a temperament{hint}')

    def hz(self, pitch: Pitch, key: Key) -> float:
        """Frequency of a note played in a key."""
        if self.temperament == "equal":
            return self._equal_hz(pitch)
        if self.temperament == "pythagorean":
            return self.a4_hz * float(_pythagorean(pitch))
        tonic = Pitch(key.letter, key.alter)
        return self.a4_hz * float(_pythagorean(tonic) * _just(pitch, tonic))

    def open_hz(self, pitch: Pitch) -> float:
        """Frequency of an open string: as it is tuned, whatever the key."""
        if self.temperament == "equal":
            return self._equal_hz(pitch)
        return self.a4_hz * float(_pythagorean(pitch))

    def _equal_hz(self, pitch: Pitch) -> float:
        return float(self.a4_hz * 2 ** ((pitch.key_number - A4.key_number) / 12))


def _octaves(pitch: Pitch, reference: Pitch, ratio_cents: float) -> int:
    """How many octaves a ratio of so many cents must rise to reach the pitch it is meant for."""
    wanted = 100 * (pitch.key_number - reference.key_number)
    return round((wanted - ratio_cents) / 1200)


def _pythagorean(pitch: Pitch) -> Fraction:
    """Ratio to A4 along the line of fifths."""
    ratio = Fraction(3, 2) ** (pitch.fifths - A4.fifths)
    return ratio * Fraction(2) ** _octaves(pitch, A4, cents(float(ratio), 1))


def _just(pitch: Pitch, tonic: Pitch) -> Fraction:
    """Ratio to the tonic given, of any octave."""
    place = pitch.fifths - tonic.fifths
    ratio = Fraction(1)
    while place not in JUST_RATIOS:
        sharper = place > 0
        place += -7 if sharper else 7
        ratio *= CHROMATIC_STEP if sharper else 1 / CHROMATIC_STEP
    ratio *= JUST_RATIOS[place]
    return ratio * Fraction(2) ** _octaves(pitch, tonic, cents(float(ratio), 1))
