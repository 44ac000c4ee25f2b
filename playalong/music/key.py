"""Key signatures: which letters are sharp or flat, and where the tonic is."""

from __future__ import annotations

import re
from dataclasses import dataclass

from playalong.errors import PlayalongError, nearest
from playalong.music.pitch import LETTER_FIFTHS, LETTERS, Pitch, accidental

# Signature of the mode on C: accidentals counted on the line of fifths.
MODES = {"major": 0, "minor": -3, "harmonic minor": -3}


class KeyNameError(PlayalongError):
    """A key that is not one of the thirty."""


@dataclass(frozen=True)
class Key:
    """A tonic letter (C = 0), its alteration in semitones, and a mode."""

    letter: int
    alter: int
    mode: str

    def __post_init__(self) -> None:
        if abs(self.signature) > 7:
            raise KeyNameError(
                f'"{self.name}" would need {abs(self.signature)} '
                f"{'sharps' if self.signature > 0 else 'flats'}; a key signature has at most "
                f'seven, so write "{self._respelled()}"'
            )

    @property
    def tonic_fifths(self) -> int:
        return LETTER_FIFTHS[self.letter] + 7 * self.alter

    @property
    def signature(self) -> int:
        """Sharps (positive) or flats (negative) in the signature, -7 to 7."""
        return self.tonic_fifths + MODES[self.mode]

    @property
    def is_minor(self) -> bool:
        return self.mode != "major"

    @property
    def name(self) -> str:
        """In ASCII: `Bb major`, `D harmonic minor`."""
        return f"{LETTERS[self.letter]}{accidental(self.alter)} {self.mode}"

    def signature_alteration(self, letter: int) -> int:
        """What the signature alone does to a letter, in semitones."""
        # Sharps enter from F upward on the line of fifths, flats from B downward.
        return (self.signature - LETTER_FIFTHS[letter] + 5) // 7

    def alteration(self, letter: int) -> int:
        """What the signature (and a raised seventh) does to a letter, in semitones."""
        raised = self.mode == "harmonic minor" and letter == (self.letter + 6) % 7
        return self.signature_alteration(letter) + raised

    def pitch(self, index: int) -> Pitch:
        """The note of this key on a diatonic index."""
        return Pitch(index, self.alteration(index % 7))

    def tonic_at_or_above(self, floor: Pitch) -> Pitch:
        """The lowest tonic that does not sound below `floor`."""
        tonic = Pitch(self.letter, self.alter)
        while tonic.key_number < floor.key_number:
            tonic = Pitch(tonic.index + 7, tonic.alter)
        return tonic

    def _respelled(self) -> Key:
        """The key with the same sound that can be written."""
        twelve_fifths = (k for k in ALL_KEYS if (k.tonic_fifths - self.tonic_fifths) % 12 == 0)
        return next(key for key in twelve_fifths if key.mode == self.mode)

    def __str__(self) -> str:
        return self.name


def _all_keys() -> tuple[Key, ...]:
    spelled = [(letter, alter) for letter in range(7) for alter in (0, 1, -1)]
    return tuple(
        Key(letter, alter, mode)
        for mode, shift in MODES.items()
        for letter, alter in spelled
        if abs(LETTER_FIFTHS[letter] + 7 * alter + shift) <= 7
    )


ALL_KEYS = _all_keys()


def parse_key(text: str) -> Key:
    """`F major`, `Bb minor`, `f♯ harmonic minor` to a key; KeyNameError names the nearest."""
    words = " ".join(text.replace("♯", "#").replace("♭", "b").split())
    match = re.fullmatch(r"([A-Ga-g])(#|b)? (major|minor|harmonic minor)", words, re.I | re.ASCII)
    if match is None:
        names = [key.name for key in ALL_KEYS]
        hint = nearest("B" + words[1:] if words[:2] in ("H ", "h ") else words, names)  # German H
        if not hint.startswith("; did"):
            hint = '; write it like "F major", "Bb minor" or "D harmonic minor"'
        raise KeyNameError(f'"{text}" is not a key{hint}')
    letter, sign, mode = match.groups()
    alter = {None: 0, "#": 1, "b": -1, "B": -1}[sign]
    return Key(LETTERS.index(letter.upper()), alter, mode.lower())
