"""Spelled pitch: a letter, its alteration and its octave, kept apart from its sound.

B sharp 3 and C4 share a key on the keyboard but are different notes to a reader and, outside
equal temperament, to the ear. Octave numbers change between B and C; C4 is middle C, MIDI key 60.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from playalong.errors import short

LETTERS = "CDEFGAB"
LETTER_SEMITONES = (0, 2, 4, 5, 7, 9, 11)  # above C
LETTER_FIFTHS = (0, 2, 4, -1, 1, 3, 5)  # places on the line of fifths, C = 0

_SPELLINGS = {"": 0, "n": 0, "#": 1, "##": 2, "x": 2, "b": -1, "bb": -2}
_UNICODE = str.maketrans({"♯": "#", "♭": "b", "♮": "n", "𝄪": "x"})
_WRITTEN = re.compile(r"([A-G])(##|bb|[#bnx])?(-?\d+)")


@dataclass(frozen=True)
class Pitch:
    """A note as spelled. `index` counts letters from C0; `alter` is in semitones."""

    index: int
    alter: int = 0

    @classmethod
    def of(cls, name: str) -> Pitch:
        """The pitch of an exact name: `of("F#4")`. ValueError if it is none."""
        index, alter = read_pitch(name)
        return cls(index, alter or 0)

    @property
    def letter(self) -> int:
        return self.index % 7

    @property
    def octave(self) -> int:
        return self.index // 7

    @property
    def key_number(self) -> int:
        """MIDI key: 60 for C4."""
        return 12 * (self.octave + 1) + LETTER_SEMITONES[self.letter] + self.alter

    @property
    def fifths(self) -> int:
        """Place on the line of fifths: F -1, C 0, G 1, and 7 more for each sharp."""
        return LETTER_FIFTHS[self.letter] + 7 * self.alter

    def moved(self, letters: int, semitones: int) -> Pitch:
        """The note so many letters and semitones higher, spelled by its letter."""
        natural = Pitch(self.index + letters)
        return Pitch(natural.index, self.key_number + semitones - natural.key_number)

    def octaves_up(self, octaves: int) -> Pitch:
        """The same letter and accidental so many octaves higher."""
        return Pitch(self.index + 7 * octaves, self.alter)

    @property
    def name(self) -> str:
        """In ASCII: `F#4`, `Bb3`."""
        return f"{LETTERS[self.letter]}{accidental(self.alter)}{self.octave}"

    def __str__(self) -> str:
        return self.name


def accidental(alter: int) -> str:
    """ASCII accidental: `#`, `b`, doubled as need be, or nothing."""
    return "#" * alter if alter > 0 else "b" * -alter


def pretty(text: str) -> str:
    """A key or pitch name in ASCII as it is printed for a reader: `B♭ major`, `F♯4`."""
    return re.sub(
        r"\b([A-G])(#+|b+)(?=-?\d|\s|$)",
        lambda m: m[1] + m[2].replace("#", "♯").replace("b", "♭"),
        text,
    )


def read_pitch(text: str) -> tuple[int, int | None]:
    """Diatonic index and alteration of a written pitch; None where no accidental is written.

    Raises ValueError for text that is no pitch.
    """
    match = _WRITTEN.fullmatch(text.translate(_UNICODE))
    if match is None:
        raise ValueError(f'"{short(text)}" is not a pitch like C5, F#4 or Bb3')
    letter, spelled, octave = match.groups()
    alter = None if spelled is None else _SPELLINGS[spelled]
    return 7 * int(octave) + LETTERS.index(letter), alter
