"""What players call a hand: Davidoff's numbers, the English names and Simandl's, by their places.

Davidoff, Violoncell-Schule 2.3 to 3.1: first to seventh position, with halves between. English
names: common practice. Simandl: from memory.
"""

from __future__ import annotations

import pytest
from playing import in_quarters as score

from playalong.instrument.catalogue import INSTRUMENTS
from playalong.instrument.fingerboard import Fingerboard
from playalong.instrument.hand import Named
from playalong.instrument.position import Position
from playalong.music.key import parse_key
from playalong.music.temperament import Tuning
from playalong.score.explanation import explain
from playalong.score.explanation_text import explanation_text

# Half steps of the first finger above the open string, the place as it is written, its names.
CELLO = """
 1 | 0  | half      | ½
 2 | 1n | 1st       | 1
 3 | 2b | lower 2nd | 1½
 4 | 2n | 2nd       | 2
 5 | 3n | 3rd       | 3
 6 | 3# | upper 3rd | 3½
 6 | 4b | lower 4th | 3½
 7 | 4n | 4th       | 4
 8 | 5b | lower 5th | 4½
 9 | 5n | 5th       | 5
10 | 6b | lower 6th | 5½
11 | 6n | 6th       | 6
12 | 7n | 7th       | 7
"""
BASS = """
 1 | 0  | half
 2 | 1n | I
 3 | 2n | II
 4 | 2# | II–III
 5 | 3n | III
 6 | 3# | III–IV
 7 | 4n | IV
 8 | 5n | V
 9 | 5# | V–VI
10 | 6n | VI
11 | 6# | VI–VII
12 | 7n | VII
"""


def rows(table: str) -> list[list[str]]:
    return [[cell.strip() for cell in row.split("|")] for row in table.strip().splitlines()]


def named(instrument: str, string: str, key: str, position: Position) -> Named:
    board = Fingerboard(INSTRUMENTS[instrument], parse_key(key), Tuning())
    return board.named(string, position)


def placed(written: str) -> Position:
    return Position(int(written.rstrip("bn#")), written.lstrip("0123456789"))


@pytest.mark.parametrize("string", "ADGC")
@pytest.mark.parametrize("row", rows(CELLO))
def test_a_fixed_place_of_the_cello_has_its_english_and_its_davidoff_name(
    string: str, row: list[str]
) -> None:
    home, written, english, davidoff = row
    board = Fingerboard(INSTRUMENTS["cello"], parse_key("C major"), Tuning())
    first, open_string = board.standing(string, placed(written), 1), board.instrument.string(string)
    assert first is not None
    assert first.key_number - open_string.key_number == int(home)
    schools = {"English use": english, "Davidoff": davidoff}
    assert named("cello", string, "C major", placed(written)).schools == schools


@pytest.mark.parametrize("row", rows(BASS))
def test_a_fixed_place_of_the_bass_has_simandls_name(row: list[str]) -> None:
    home, written, simandl = row
    board = Fingerboard(INSTRUMENTS["bass"], parse_key("C major"), Tuning())
    first = board.standing("G", placed(written), 1)
    assert first is not None
    assert first.key_number - board.instrument.string("G").key_number == int(home)
    assert named("bass", "G", "C major", placed(written)).schools == {"Simandl": simandl}


@pytest.mark.parametrize(
    ("instrument", "string", "key", "position", "beside"),
    [
        ("cello", "A", "C major", 1, ""),
        ("cello", "A", "F major", 1, "extended back"),
        ("cello", "A", "E major", 1, "extended forward"),
        ("cello", "C", "E major", 1, "lower 2nd"),
        ("cello", "A", "Ab major", 1, "half"),
        ("cello", "D", "F major", 2, "extended back"),
        ("cello", "A", "E major", 3, "upper 3rd"),
        ("cello", "A", "C major", 6, "lower 6th"),
        ("cello", "A", "C major", 9, ""),
        ("bass", "G", "C major", 1, ""),
        ("bass", "G", "C major", 2, "Simandl II–III"),
        ("bass", "G", "Bb major", 2, ""),
        ("bass", "G", "A major", 6, "Simandl VI–VII"),
        ("violin", "A", "C major", 2, ""),
    ],
)
def test_a_name_stands_beside_the_number_only_where_the_number_does_not_say_it(
    instrument: str, string: str, key: str, position: int, beside: str
) -> None:
    assert named(instrument, string, key, Position(position)).beside == beside


def test_davidoff_calls_a_hand_that_is_extended_forward_the_raised_position() -> None:
    """2.4: first position on D with F sharp and G sharp is his 1½, with the first finger back."""
    schools = named("cello", "D", "A major", Position(1)).schools
    assert schools == {"English use": "1st", "Davidoff": "1½"}


def test_explain_tells_the_schools_and_the_extension() -> None:
    written = score("cello", "A major", "D: p1: 1 2 4")
    told = explain(written)["bars"][0]["notes"][0]
    assert (told["position"], told["position_name"], told["extended"]) == (1, "1", "forward")
    assert told["school_names"] == {"English use": "1st", "Davidoff": "1½"}
    assert "position 1 (extended forward)" in explanation_text(written)
    open_note = explain(score("cello", "C major", "D: 0"))["bars"][0]["notes"][0]
    assert (open_note["school_names"], open_note["extended"]) == ({}, None)


def test_a_ghost_note_outside_the_key_is_told_so() -> None:
    """Davidoff 2.3: from second finger on C to fourth position F natural is heard in G major."""
    told = explanation_text(score("cello", "G major", "A: p1: 2 p4: 4"))
    assert "ghost note F4, which is not in G major" in told
    assert "which is not in" not in explanation_text(score("cello", "G major", "A: p1: 1 p4: 4"))
