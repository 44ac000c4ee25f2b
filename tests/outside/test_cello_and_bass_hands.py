"""The hands of cello and bass against the method books.

Davidoff: Violoncell-Schule (1888), by section and article, in the English of 2022. Simandl: New
Method for the Double Bass, book 1; what is from memory is marked so. Sounding pitches; the fingers
in brackets are those that play, which the key chooses where two of the hand share a letter.
"""

from __future__ import annotations

import re

import pytest

from playalong.drill.load import parse
from playalong.score.model import Score
from playalong.score.writing import write

CELLO = """
A | D major | p1n: 1 2 3 4 | B3 C4 C#4 D4 | Davidoff 1.5
G | C major | p1n: 1 2 3 4 | A2 Bb2 B2 C3 | Davidoff 1.5
D | C major | p1: 1 2 4 | E3 F3 G3 (1 2 4) | common practice
A | C major | p1: 1 2 4 | B3 C4 D4 (1 2 4) | common practice
G | C major | p1: 1 3 4 | A2 B2 C3 (1 3 4) | common practice
G | F major | p1: 1 2 4 | A2 Bb2 C3 (1 2 4) | common practice
C | G major | p1: 1 2 4 | D2 E2 F#2 (1 2 4) | common practice (forward)
D | A major | p1: 1 2 4 | E3 F#3 G#3 (1 2 4) | Davidoff 2.4: D, A, E major from first position
D | C major | p1: 1x 2 3# 4 | Eb3 F3 F#3 G3 | chart of extensions
C | Ab major | p1: 1 2 4 | Db2 Eb2 F2 (1 2 4) | Davidoff 1.11 (D flat)
D | A minor | p1: 4x | G#3 | common practice (x4)
A | F major | p0: 1 2 3 4 | Bb3 B3 C4 Db4 | Davidoff 2.5
G | A major | p0: 1 2 4 | G#2 A2 B2 | Davidoff 2.5
A | Ab major | p1: 1 3 4 | Bb3 C4 Db4 (1 3 4) | the same hand as half position
A | A major | p2n: 1 2 4 | C#4 D4 E4 | Davidoff 2.6: second is a whole step above first
D | C major | p2: 1 2 4 | F3 G3 A3 (1 2 4) | common practice (extended)
C | C major | p2: 1 2 4 | E2 F2 G2 (1 2 4) | table of first fingers (finger 1 = E)
A | D minor | p3n: 1 2 3 4 | D4 Eb4 E4 F4 | Davidoff 2.7: a whole step below fourth
D | F major | p3: 1 3 4 | G3 A3 Bb3 (1 3 4) | common practice
G | Bb major | p3: 1 3 4 | C3 D3 Eb3 (1 3 4) | common practice
A | E major | p3: 1 2 4 | D#4 E4 F#4 (1 2 4) | the same hand as raised third
A | G major | p4n: 1 2 3 4 | E4 F4 F#4 G4 | Davidoff 2.3
G | G major | p4: 1 3 4 | D3 E3 F#3 (1 2 4) | table of first fingers (D); span: computed
A | C major | p5: 1 2 3 | F4 G4 A4 | Davidoff 3.1: 4½, 1-2-3 a major third
A | C major | p6: 1 2 3 | G4 A4 B4 | Davidoff 3.1: 5½
A | C major | p7: 1 2 3 | A4 B4 C5 | Davidoff 3.1: 7
G | D major | p5: 1 2 3 | E3 F#3 G3 | Davidoff 3.1: 5 on G = E
A | A harmonic minor | p5: 1 2 3 | F4 G#4 A4 | Davidoff 3.1: three half steps and one
D | D major | t7: T 1 2 3 | D4 E4 F#4 G4 | Davidoff 3: the thumb on the half string
A | D major | t4: T 1 2 3 | E4 F#4 G4 A4 | computed: the thumb on p4's place
A | D major | p4: 1o p3: 1o | E5o A5o | acoustics: 1/3 and 1/4
D | D major | p2n: 1o | F#5o | acoustics: 1/5, the place of a major third
"""
BASS = """
G | F major | p0: 1 2 4 | Ab2 A2 Bb2 | Simandl; teachers' pages: the shape named
D | D major | p1n: 1 2 4 | E2 F2 F#2 | Simandl (from memory)
E | A major | p1n: 1 2 4 | F#1 G1 G#1 | Simandl (from memory)
G | G major | p2#: 1 2 4 | B2 C3 C#3 | Simandl, between 2 and 3 (from memory)
D | A major | p3n: 1 2 4 | G2 G#2 A2 | teachers' pages: the shape named
G | G minor | p4n: 1 2 4 | D3 Eb3 E3 | Simandl (from memory)
G | G major | p5#: 1 2 4 | E3 F3 F#3 | Simandl, between 5 and 6 (from memory)
G | A major | p6#: 1 2 3 | F#3 G3 G#3 | Simandl, between 6 and 7 (from memory)
G | Bb major | p1n: 1 p2n: 1 p3n: 1 p4n: 1 p5n: 1 p6n: 1 p7n: 1 | A2 Bb2 C3 D3 Eb3 F3 G3 | Simandl
A | F major | p0: 1 2 4 | Bb1 B1 C2 | Simandl (from memory)
D | C major | p1: 1 2 | E2 F2 (1 2) | common practice
D | C major | p1: 1 4 | E2 F2 (1 2) | common practice: 2 or 4
G | Bb minor | t7n: T 1 2 3 | G3 Ab3 A3 Bb3 | Wikipedia, "Thumb position"
"""
# First position of the cello in the major keys, string by string: which fingers play 1 2 4
# (common practice; closed, open and half position as Davidoff 1, articles 5 and 11, and
# section 2, articles 4 and 5, has them).
FIRST_POSITION = """
C | 1 3 4: D2 E2 F2 | 1 3 4: A2 B2 C3 | 1 2 4: E3 F3 G3 | 1 2 4: B3 C4 D4
G | 1 2 4: D2 E2 F#2 | 1 3 4: A2 B2 C3 | 1 3 4: E3 F#3 G3 | 1 2 4: B3 C4 D4
D | 1 2 4: D2 E2 F#2 | 1 2 4: A2 B2 C#3 | 1 3 4: E3 F#3 G3 | 1 3 4: B3 C#4 D4
A | 1 2 4: D2 E2 F#2 | 1 2 4: A2 B2 C#3 | 1 2 4: E3 F#3 G#3 | 1 3 4: B3 C#4 D4
E | 1 2 4: D#2 E2 F#2 | 1 2 4: A2 B2 C#3 | 1 2 4: E3 F#3 G#3 | 1 2 4: B3 C#4 D#4
F | 1 3 4: D2 E2 F2 | 1 2 4: A2 Bb2 C3 | 1 2 4: E3 F3 G3 | 1 2 4: Bb3 C4 D4
Bb | 1 2 4: D2 Eb2 F2 | 1 2 4: A2 Bb2 C3 | 1 2 4: Eb3 F3 G3 | 1 2 4: Bb3 C4 D4
Eb | 1 2 4: D2 Eb2 F2 | 1 2 4: Ab2 Bb2 C3 | 1 2 4: Eb3 F3 G3 | 1 2 4: Bb3 C4 D4
Ab | 1 2 4: Db2 Eb2 F2 | 1 2 4: Ab2 Bb2 C3 | 1 2 4: Eb3 F3 G3 | 1 3 4: Bb3 C4 Db4
"""


def rows(table: str) -> list[list[str]]:
    return [[cell.strip() for cell in row.split("|")] for row in table.strip().splitlines()]


def scored(instrument: str, string: str, key: str, bar: str) -> Score:
    tokens = len(re.findall(r"(?<!\S)[-~]?[T\d]\S*(?!:)", re.sub(r"[pt]\S+:", "", bar)))
    return write(
        parse(
            f'title = "T"\ninstrument = "{instrument}"\nstrings = ["{string}"]\n'
            f'keys = ["{key}"]\nmeter = "{tokens}/4"\nnote = "quarter"\nbar = "{bar}"\n'
        )
    )


@pytest.mark.parametrize(
    ("instrument", "row"),
    [(name, row) for name, table in (("cello", CELLO), ("bass", BASS)) for row in rows(table)],
    ids=lambda value: value if isinstance(value, str) else " ".join(value[:3]),
)
def test_fingers_sound_and_play_as_the_method_books_have_them(
    instrument: str, row: list[str]
) -> None:
    string, key, bar, sounds, source = row
    pitches, _, fingers = sounds.partition("(")
    notes = scored(instrument, string, key, bar).notes
    assert [note.pitch.name for note in notes] == pitches.replace("o", "").split(), source
    if fingers:
        assert [str(note.finger) for note in notes] == fingers.rstrip(")").split(), source


@pytest.mark.parametrize(
    ("key", "string", "cell"),
    [
        (key, string, cell)
        for key, *cells in rows(FIRST_POSITION)
        for string, cell in zip("CGDA", cells, strict=True)
    ],
)
def test_the_key_chooses_the_cellos_fingers_in_first_position(
    key: str, string: str, cell: str
) -> None:
    fingers, pitches = cell.split(":")
    notes = scored("cello", string, f"{key} major", "p1: 1 2 4").notes
    assert [str(note.finger) for note in notes] == fingers.split()
    assert [note.pitch.name for note in notes] == pitches.split()


# Davidoff 2.3, on the A string: letter, positions, fingers, ghost note.
DAVIDOFF = """
A | p1: 1 p4: 2n  | E4
C | p1: 1 p4: 4   | E4
E | p1: 2 p4: 4   | F4
G | p4: 1 p1: 2   | B3
I | p4: 1 p1: 4   | B3
L | p4: 2n p1: 4  | C4
N | p4: 4 p1: 1   | D4
P | p4: 4 p1: 3#  | D4
S | p4: 3 p1: 2   | C#4
U | p1: 4 p4: 1   | G4
W | p1: 4 p4: 3   | G4
Y | p1: 3# p4: 2n | F#4
"""


@pytest.mark.parametrize(("letter", "bar", "ghost"), rows(DAVIDOFF))
def test_ghost_notes_are_those_of_davidoffs_shifts(letter: str, bar: str, ghost: str) -> None:
    arrival = scored("cello", "A", "G major", bar).notes[1].arrival
    assert arrival is not None
    assert arrival.ghost is not None
    assert arrival.ghost.name == ghost
