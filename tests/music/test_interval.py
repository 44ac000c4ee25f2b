"""Names of intervals, by any book of rudiments: the number by letters, the quality by semitones."""

from __future__ import annotations

import pytest

from playalong.music.interval import interval_name, step_name
from playalong.music.pitch import Pitch

NAMES = """
C4 C4   unison                          | C4 C#4  augmented unison
C4 Db4  minor second                    | C4 D4   major second
C4 D#4  augmented second                | C4 Dbb4 diminished second
C4 Eb4  minor third                     | C4 E4   major third
C4 E#4  augmented third                 | C4 Ebb4 diminished third
C4 F4   perfect fourth                  | C4 F#4  augmented fourth
C4 Fb4  diminished fourth               | F4 B4   augmented fourth
C4 G4   perfect fifth                   | B3 F4   diminished fifth
C4 G#4  augmented fifth                 | C4 Gb4  diminished fifth
C4 Ab4  minor sixth                     | C4 A4   major sixth
C4 A#4  augmented sixth                 | C4 Abb4 diminished sixth
C4 Bb4  minor seventh                   | C4 B4   major seventh
C4 B#4  augmented seventh               | C4 Bbb4 diminished seventh
C4 C5   octave                          | C4 C#5  augmented octave
C4 Cb5  diminished octave               | C4 C##4 doubly augmented unison
Cb4 D#4 doubly augmented second         | C#4 Ebb4 doubly diminished third
Fb4 B#4 doubly augmented fourth         | C#4 Gbb4 doubly diminished fifth
C4 D5   major ninth                     | C4 Eb5  minor tenth
C4 F5   perfect eleventh                | C4 G5   perfect twelfth
C4 C6   two octaves                     | C4 C7   three octaves
C4 C8   four octaves                    | C3 C8   5 octaves
C4 E6   major third and 2 octaves       | C4 C#6  augmented octave and an octave
"""
CASES = [
    tuple(cell.split(None, 2)) for row in NAMES.strip().splitlines() for cell in row.split(" | ")
]


@pytest.mark.parametrize(("low", "high", "name"), CASES)
def test_an_interval_has_its_name_whichever_of_its_ends_comes_first(
    low: str, high: str, name: str
) -> None:
    assert interval_name(Pitch.of(low), Pitch.of(high)) == name.strip()
    assert interval_name(Pitch.of(high), Pitch.of(low)) == name.strip()


@pytest.mark.parametrize(
    ("one", "two", "name"),
    [
        ("E4", "F4", "half step"),
        ("F4", "E4", "half step"),
        ("B3", "C4", "half step"),
        ("F4", "G4", "whole step"),
        ("G4", "F4", "whole step"),
        ("F#4", "G4", "half step"),
        ("F4", "F#4", "augmented unison"),  # one letter: a chromatic half step by its name
        ("F4", "G#4", "augmented second"),
        ("E#4", "F4", "diminished second"),
        ("F4", "A4", "major third"),
        ("E4", "Fb4", "diminished second"),
    ],
)
def test_neighbouring_letters_a_half_or_a_whole_step_apart_are_called_so(
    one: str, two: str, name: str
) -> None:
    assert step_name(Pitch.of(one), Pitch.of(two)) == name
