"""Natural harmonics against acoustics: a string touched at k/n of its length sounds n times its hz.

The ratios are those of the ideal string; names of the partials are common practice.
"""

from __future__ import annotations

import pytest
from playing import drill_of

from playalong.instrument.harmonics import NEAREST_CENTS, NODES, node_near
from playalong.music.pitch import Pitch
from playalong.score.explanation import told_place_mm
from playalong.score.model import Note
from playalong.score.resolving import UnplayableError
from playalong.score.writing import write

# Partial, share of the string from the nut, half steps above the open string.
SEMITONES = """
2 1/2 12.000
3 1/3 7.020
3 2/3 19.020
4 1/4 4.980
4 3/4 24.000
5 1/5 3.863
5 2/5 8.844
5 3/5 15.863
5 4/5 27.863
6 1/6 3.156
6 5/6 31.020
"""
# Instrument, key, bar, what sounds, what is touched, partial.
PLAYED = """
violin | A | A major | p7: 1o | A5  | A5  | 2
violin | A | A major | p4: 1o | E6  | E5  | 3
violin | A | A major | p3: 1o | A6  | D5  | 4
violin | G | G major | p1: 3o | G5  | C4  | 4
viola  | C | C major | p4: 1o | G4  | G3  | 3
cello  | D | D major | p4: 1o | A4  | A3  | 3
cello  | A | A major | p2n: 1o | C#6 | C#4 | 5
cello  | C | C major | t7: To | C3  | C3  | 2
cello  | G | G major | p4: 1o | D4  | D3  | 3
bass   | G | G major | t7: To | G3  | G3  | 2
bass   | G | G major | p3n: 1o | G4 | C3  | 4
bass   | D | D major | p4n: 1o | A3 | A2  | 3
"""


def touched(instrument: str, string: str, key: str, bar: str) -> Note:
    more = f'strings = ["{string}"]\nkeys = ["{key}"]\nnote = "whole"'
    return write(drill_of(bar, more, instrument=instrument)).notes[0]


def test_nodes_lie_where_the_ideal_string_has_them() -> None:
    rows = [row.split() for row in SEMITONES.strip().splitlines()]
    found = [(str(n.partial), str(n.share), f"{n.cents / 100:.3f}") for n in NODES]
    assert sorted(found) == sorted(map(tuple, rows))


@pytest.mark.parametrize("row", PLAYED.strip().splitlines())
def test_a_harmonic_sounds_its_partial_of_the_open_string(row: str) -> None:
    name, string, key, bar, sounds, place, partial = (cell.strip() for cell in row.split("|"))
    note = touched(name, string, key, bar)
    score = write(drill_of(bar, f'strings = ["{string}"]\nnote = "whole"', instrument=name))
    assert note.pitch == Pitch.of(sounds)
    assert note.hz == pytest.approx(int(partial) * score.board.open_hz(string), abs=1e-9)
    assert note.touched is not None
    assert (note.touched.place, note.touched.node.partial) == (Pitch.of(place), int(partial))


def test_the_place_that_is_told_is_the_node_and_not_the_stop() -> None:
    """A fifth of 690 mm is 138.0; the tempered major third stands at 142.3."""
    more = 'strings = ["D"]\nkeys = ["D major"]\nnote = "whole"'
    score = write(drill_of("p2n: 1o", more, instrument="cello"))
    assert told_place_mm(score, score.notes[0]) == 138.0


@pytest.mark.parametrize("cents", [100.0, 200.0, 600.0, 1100.0, 1300.0, 1400.0])
def test_between_the_nodes_none_is_near(cents: float) -> None:
    assert node_near(cents) is None


@pytest.mark.parametrize("node", NODES)
def test_a_finger_within_35_cents_makes_a_node_speak_and_one_further_off_does_not(
    node: object,
) -> None:
    here = next(each for each in NODES if each == node)
    for apart in (-NEAREST_CENTS + 0.1, 0.0, NEAREST_CENTS - 0.1):
        assert node_near(here.cents + apart) == here
    assert node_near(here.cents + NEAREST_CENTS + 0.1) != here


@pytest.mark.parametrize("temperament", ["equal", "pythagorean", "just"])
def test_a_harmonic_is_of_the_string_whatever_the_temperament(temperament: str) -> None:
    more = f'keys = ["A major"]\nnote = "whole"\n[tuning]\ntemperament = "{temperament}"'
    score = write(drill_of("A: p4: 1o", more, instrument="cello"))
    assert score.notes[0].hz == pytest.approx(3 * score.board.open_hz("A"), abs=1e-9)


def test_nothing_slides_into_a_harmonic_that_sounds_elsewhere_than_it_is_touched() -> None:
    more = 'strings = ["A"]\nkeys = ["A major"]\nnote = "half"'
    far, near = (
        write(drill_of(bar, more, instrument="cello")) for bar in ("p1: 1 p4: 1o", "p1: 1 p7: 1o")
    )
    assert [note.heard for note in far.notes] == [False, False]
    assert [note.heard for note in near.notes] == [False, True]


def test_what_no_node_is_near_to_is_refused_with_where_harmonics_speak() -> None:
    with pytest.raises(
        UnplayableError, match=r"touches B4 on the A string; harmonics speak about 3, 4"
    ):
        touched("violin", "A", "A major", "p1: 1o")
