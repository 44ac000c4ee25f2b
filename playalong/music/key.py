"""Key signatures: which letters are sharp or flat, and where the tonic is.

A melodic minor has two forms: by its signature as a line comes down, and with the sixth and
seventh raised as it goes up (`rising`). `music/melodic` says which a line takes.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from types import MappingProxyType

from playalong.errors import PlayalongError, nearest, short
from playalong.music.pitch import LETTER_FIFTHS, LETTERS, Pitch, accidental

# Signature of the mode on C: accidentals counted on the line of fifths.
MODES = {
    "major": 0,
    "minor": -3,
    "harmonic minor": -3,
    "melodic minor": -3,
    "ionian": 0,
    "dorian": -2,
    "phrygian": -4,
    "lydian": 1,
    "mixolydian": -1,
    "aeolian": -3,
    "locrian": -5,
}
# Letters above the tonic that a mode raises by a half step, against its signature.
RAISED: Mapping[str, tuple[int, ...]] = MappingProxyType({"harmonic minor": (6,)})
RISING: Mapping[str, tuple[int, ...]] = MappingProxyType({"melodic minor": (5, 6)})
MOST_SIGNS = 7  # sharps or flats in a signature
HIGHEST_MINOR_THIRD = -2  # the signature on C of dorian: from here down the third is minor


class KeyNameError(PlayalongError):
    """A key that no signature of up to seven sharps or flats can write."""


@dataclass(frozen=True)
class Key:
    """A tonic letter (C = 0), its alteration in semitones, and a mode."""

    letter: int
    alter: int
    mode: str
    is_rising: bool = False  # the form that a line takes on its way up

    def __post_init__(self) -> None:
        if abs(self.signature) > MOST_SIGNS:
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
        """Whether the third above the tonic is minor."""
        return MODES[self.mode] <= HIGHEST_MINOR_THIRD

    @property
    def tonic_name(self) -> str:
        """In ASCII: `Bb`."""
        return f"{LETTERS[self.letter]}{accidental(self.alter)}"

    @property
    def rising(self) -> Key:
        """The form that a line takes on its way up; the key itself where there is but one."""
        return replace(self, is_rising=True) if self.mode in RISING else self

    @property
    def name(self) -> str:
        """In ASCII: `Bb major`, `D harmonic minor`."""
        return f"{self.tonic_name} {self.mode}"

    def signature_alteration(self, letter: int) -> int:
        """What the signature alone does to a letter, in semitones."""
        # Sharps enter from F upward on the line of fifths, flats from B downward.
        return (self.signature - LETTER_FIFTHS[letter] + 5) // 7

    def alteration(self, letter: int) -> int:
        """What the key does to a letter, in semitones: the signature, and degrees it raises."""
        return self._alterations[letter]

    @cached_property
    def _alterations(self) -> tuple[int, ...]:
        """Of every letter."""
        raised = (RISING if self.is_rising else RAISED).get(self.mode, ())
        return tuple(
            self.signature_alteration(letter) + ((letter - self.letter) % 7 in raised)
            for letter in range(len(LETTERS))
        )

    def pitch(self, index: int) -> Pitch:
        """The note of this key on a diatonic index."""
        return Pitch(index, self.alteration(index % 7))

    def respelled(self, pitch: Pitch) -> Pitch | None:
        """A better name of the same sound: in a key of sharps no flat, in one of flats its own.

        None where the pitch is well spelled. A sharp may well stand in a key of flats (F sharp in
        D minor), but not for a flat that the key has.
        """
        if pitch.alter * self.signature >= 0 or self.pitch(pitch.index) == pitch:
            return None
        other = pitch.moved(1 if pitch.alter > 0 else -1, 0)
        in_key = self.pitch(other.index) == other
        return other if in_key or (pitch.alter < 0 and other.alter <= 1) else None

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
        if abs(LETTER_FIFTHS[letter] + 7 * alter + shift) <= MOST_SIGNS
    )


ALL_KEYS = _all_keys()


_SIGNS = {"": 0, "#": 1, "sharp": 1, "b": -1, "flat": -1}
_KEY = re.compile(rf"([A-G])(#|b|[ -]sharp|[ -]flat)? ({'|'.join(MODES)})", re.I | re.ASCII)
_HELP = '; write it like "F major", "Bb minor", "D harmonic minor" or "D dorian"'


def parse_key(text: str) -> Key:
    """`F major`, `Bb minor`, `f♯ dorian`, `E flat major` to a key.

    KeyNameError names the nearest.
    """
    words = " ".join(text.replace("♯", "#").replace("♭", "b").split())
    match = _KEY.fullmatch(words)
    if match is None:
        names = [key.name for key in ALL_KEYS]
        hint = nearest(_as_named_here(words), names)
        raise KeyNameError(
            f'"{short(text)}" is not a key{hint if hint.startswith("; did") else _HELP}'
        )
    letter, sign, mode = match.groups()
    alter = _SIGNS[(sign or "").lstrip(" -").lower()]
    return Key(LETTERS.index(letter.upper()), alter, mode.lower())


def _as_named_here(words: str) -> str:
    """A key as it is said, or named in German, in letters and signs: H, Es, Fis, Eflat."""
    for said, named in (
        (r"h\b", "B"),
        (r"([a-g])([ -]?sharp|is)\b", r"\1#"),
        (r"([a-g])([ -]?flat|e?s)\b", r"\1b"),
    ):
        words = re.sub(f"^{said}", named, words, flags=re.I)
    return words
