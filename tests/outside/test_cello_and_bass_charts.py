"""Charts of positions and the first scales of cello and bass.

First fingers of the cello: the chart of cello.org. Places: Davidoff, Violoncell-Schule 2.3 to 3.1,
a hand of four half steps on each; Simandl, New Method for the Double Bass, book 1 (from memory),
whose places are the natural minor scale of the open string and those between. Scales: common
practice, as first books finger them. Sounding pitches, compared as they sound.
"""

from __future__ import annotations

import pytest
from playing import in_quarters

from playalong.music.pitch import Pitch

FIRST_FINGERS = """
1st | D2 A2 E3 B3
2nd | E2 B2 F3 C4
3rd | F2 C3 G3 D4
4th | G2 D3 A3 E4
"""
NECK = """
C | p0  | C#2 D2  D#2 E2
C | p1n | D2  D#2 E2  F2
C | p2b | D#2 E2  F2  F#2
C | p2n | E2  F2  F#2 G2
C | p3n | F2  F#2 G2  G#2
C | p3# | F#2 G2  G#2 A2
C | p4b | F#2 G2  G#2 A2
C | p4n | G2  G#2 A2  A#2
G | p0  | G#2 A2  A#2 B2
G | p1n | A2  A#2 B2  C3
G | p2b | A#2 B2  C3  C#3
G | p2n | B2  C3  C#3 D3
G | p3n | C3  C#3 D3  D#3
G | p3# | C#3 D3  D#3 E3
G | p4b | C#3 D3  D#3 E3
G | p4n | D3  D#3 E3  F3
D | p0  | D#3 E3  F3  F#3
D | p1n | E3  F3  F#3 G3
D | p2b | F3  F#3 G3  G#3
D | p2n | F#3 G3  G#3 A3
D | p3n | G3  G#3 A3  A#3
D | p3# | G#3 A3  A#3 B3
D | p4b | G#3 A3  A#3 B3
D | p4n | A3  A#3 B3  C4
A | p0  | A#3 B3  C4  C#4
A | p1n | B3  C4  C#4 D4
A | p2b | C4  C#4 D4  D#4
A | p2n | C#4 D4  D#4 E4
A | p3n | D4  D#4 E4  F4
A | p3# | D#4 E4  F4  F#4
A | p4b | D#4 E4  F4  F#4
A | p4n | E4  F4  F#4 G4
"""
# Half to fourth position with what lies between: three notes, the whole step under 1 and 4.
SIMANDL = """
E | p0  | F1  F#1 G1
E | p1n | F#1 G1  G#1
E | p2n | G1  G#1 A1
E | p2# | G#1 A1  A#1
E | p3n | A1  A#1 B1
E | p3# | A#1 B1  C2
E | p4n | B1  C2  C#2
A | p0  | A#1 B1  C2
A | p1n | B1  C2  C#2
A | p2n | C2  C#2 D2
A | p2# | C#2 D2  D#2
A | p3n | D2  D#2 E2
A | p3# | D#2 E2  F2
A | p4n | E2  F2  F#2
D | p0  | D#2 E2  F2
D | p1n | E2  F2  F#2
D | p2n | F2  F#2 G2
D | p2# | F#2 G2  G#2
D | p3n | G2  G#2 A2
D | p3# | G#2 A2  A#2
D | p4n | A2  A#2 B2
G | p0  | G#2 A2  A#2
G | p1n | A2  A#2 B2
G | p2n | A#2 B2  C3
G | p2# | B2  C3  C#3
G | p3n | C3  C#3 D3
G | p3# | C#3 D3  D#3
G | p4n | D3  D#3 E3
G | p5n | D#3 E3  F3
G | p5# | E3  F3  F#3
"""
SCALES = """
cello | C major  | C: 0 p1: 1 3 4 G: 0 1 3 4   | C2 D2 E2 F2 G2 A2 B2 C3       | 0 1 3 4 0 1 3 4
cello | C major  | D: p1: 0 1 2 4 A: 0 1 2 4   | D3 E3 F3 G3 A3 B3 C4 D4       | 0 1 2 4 0 1 2 4
cello | G major  | G: p1: 0 1 3 4 D: 0 1 3 4   | G2 A2 B2 C3 D3 E3 F#3 G3      | 0 1 3 4 0 1 3 4
cello | D major  | D: p1: 0 1 3 4 A: 0 1 3 4   | D3 E3 F#3 G3 A3 B3 C#4 D4     | 0 1 3 4 0 1 3 4
cello | F major  | C: p1: 4 G: 0 1 2 4 D: 0 1 2 | F2 G2 A2 Bb2 C3 D3 E3 F3     | 4 0 1 2 4 0 1 2
cello | A major  | G: p1: 1 2 4 D: 0 1 2 4 A: 0 | A2 B2 C#3 D3 E3 F#3 G#3 A3   | 1 2 4 0 1 2 4 0
cello | Bb major | G: p1: 2 4 D: 0 1 2 4 A: 0 1 | Bb2 C3 D3 Eb3 F3 G3 A3 Bb3   | 2 4 0 1 2 4 0 1
cello | D major  | A: p1: 1 3 4 p4: 1 3 4      | B3 C#4 D4 E4 F#4 G4           | 1 3 4 1 3 4
bass  | F major  | E: p1: 1 4 A: 0 1 4 D: 0 1 2 | F1 G1 A1 Bb1 C2 D2 E2 F2     | 1 4 0 1 4 0 1 2
bass  | G major  | E: p1: 2 A: 0 1 2 D: 0 1 4 G: 0 | G1 A1 B1 C2 D2 E2 F#2 G2  | 2 0 1 2 0 1 4 0
bass  | Bb major | A: p1: 1 4 D: 0 1 4 G: 0 1 2 | Bb1 C2 D2 Eb2 F2 G2 A2 Bb2   | 1 4 0 1 4 0 1 2
bass  | C major  | A: p1: 2 D: 0 1 2 G: 0 1 4  | C2 D2 E2 F2 G2 A2 B2          | 2 0 1 2 0 1 4
bass  | A major  | A: p1: 0 1 4 D: 0 1 4 G: p0: 1 2 | A1 B1 C#2 D2 E2 F#2 G#2 A2 | 0 1 4 0 1 4 1 2
bass  | E minor  | E: 0 p1: 1 2 A: 0 1 2 D: 0 1 | E1 F#1 G1 A1 B1 C2 D2 E2     | 0 1 2 0 1 2 0 1
"""


def rows(table: str) -> list[list[str]]:
    return [[cell.strip() for cell in row.split("|")] for row in table.strip().splitlines()]


def key_numbers(pitches: str) -> list[int]:
    return [Pitch.of(name).key_number for name in pitches.split()]


@pytest.mark.parametrize(("position", "pitches"), rows(FIRST_FINGERS))
def test_the_cellos_first_finger_stands_where_the_chart_has_it(position: str, pitches: str) -> None:
    for string, pitch in zip("CGDA", pitches.split(), strict=True):
        (note,) = in_quarters("cello", "C major", f"{string}: p{position[0]}: 1").notes
        assert (note.pitch.name, note.finger) == (pitch, 1)


@pytest.mark.parametrize(("string", "position", "pitches"), rows(NECK))
def test_the_cellos_closed_hand_stands_in_davidoffs_places(
    string: str, position: str, pitches: str
) -> None:
    notes = in_quarters("cello", "C major", f"{string}: {position}: 1 2 3 4").notes
    assert [note.pitch.key_number for note in notes] == key_numbers(pitches)
    assert [note.finger for note in notes] == [1, 2, 3, 4]


@pytest.mark.parametrize(("string", "position", "pitches"), rows(SIMANDL))
def test_the_basss_hand_stands_in_simandls_places(string: str, position: str, pitches: str) -> None:
    notes = in_quarters("bass", "C major", f"{string}: {position}: 1 2 4").notes
    assert [note.pitch.key_number for note in notes] == key_numbers(pitches)
    assert [note.finger for note in notes] == [1, 2, 4]


@pytest.mark.parametrize(("instrument", "key", "bar", "pitches", "fingers"), rows(SCALES))
def test_first_scales_are_fingered_as_first_books_have_them(
    instrument: str, key: str, bar: str, pitches: str, fingers: str
) -> None:
    written = in_quarters(instrument, key, bar)
    assert [note.pitch.name for note in written.notes] == pitches.split()
    assert [str(note.finger) for note in written.notes] == fingers.split()
    assert written.warnings == ()
