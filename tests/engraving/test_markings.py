"""Fingers, strings, bows and slurs at the notes."""

from __future__ import annotations

from xml.etree.ElementTree import Element

import pytest
from written_music import main_notes, music


def bow_marks(root: Element) -> str:
    """`v` for a down bow, `^` for an up bow, `.` for a note without a mark."""
    return "".join(
        "v" if note.find(".//down-bow") is not None
        else "^" if note.find(".//up-bow") is not None
        else "."
        for note in main_notes(root)
    )  # fmt: skip


@pytest.mark.parametrize(
    ("bar", "more", "count"),
    [
        ("( 1 2 ) ( 3 4 ) ( 4 3 2 1 )", "climb = 2", 4),
        ("1 2 3 4 4 3 2 1", 'bow = "bar"\nclimb = 3\npasses = 2', 3),
    ],
)
def test_bows_go_down_and_up_in_turn_through_all_that_is_written(bar, more, count):
    marks = bow_marks(music(bar, more)).replace(".", "")
    assert marks == ("v^" * count)[:count]


@pytest.mark.parametrize(
    ("bar", "more", "marks"),
    [
        ("1 2 3 4 4 3 2 1", "climb = 2", "v^.............."),
        ("1 2 3 4 4 3 2*2", "climb = 2", "v^.....^......"),  # seven bows: the next one is an up bow
        ("1 2 3 4 4 3 2*2", "climb = 3", "v^.....^......v......"),
        ("( 1 2 ) 3*2 ( 4 3 2 1 )", "climb = 2", "v.^v...^......"),
        ("( 1 2 ) 3*2 ( 4 3 ) 2*2", "climb = 2", "v.^v.^......"),
        ("1 2 3 4 4 3 2 1", 'bow = "beat"', "v.^.v.^."),
        ("1*2 ( 2 3 ) 4 ( 4 3 2 )", "", "v^.v^.."),
        ("1 | 1 2 3 4 4 3 2", 'upbeat = "1"', "^v^....."),  # down on the first beat
        ("1 2 | 1 2 3 4 4 3", 'upbeat = "2"', "v^......"),
        ("( 1 2 ) | ( 1 2 3 4 4 3 )", 'upbeat = "2"', "^.v....."),
        ("( 1 | 2 ) 3 4 ( 4 3 ) 2 1", 'upbeat = "1"', "v.^v^.v^"),  # it leads over the bar line
    ],
)
def test_bows_are_marked_until_they_are_clear_and_where_a_starting_position_turns_them(
    bar, more, marks
):
    """Of separate bows the first two, of slurs all of the first starting position."""
    assert bow_marks(music(bar, f"{more}\npasses = 1")) == marks


@pytest.mark.parametrize(
    ("bar", "more", "note"),
    [
        ("1 2 3 4 4 3 2 1", "climb = 2", "n2"),  # after one down and one up bow
        ("( 1 2 3 4 ) ( 4 3 2 1 )", "climb = 2", "n8"),  # after the first starting position
        ("( 1 2 3 4 ) ( 4 3 2 1 )", "", None),  # nothing is left that could go on
        ("1*4 2*4", "", None),
    ],
)
def test_simile_stands_where_the_bowing_has_become_clear(bar, more, note):
    [music_part] = music(bar, more).iter("part")
    parts = [part for measure in music_part for part in measure]
    at = [n for n, part in enumerate(parts) if part.findtext("direction-type/words") == "simile"]
    after = [next(p.get("id") for p in parts[n:] if p.tag == "note") for n in at]
    assert after == ([note] if note else [])


def test_voices_have_slurs_and_no_bows():
    voice = music("( C4 D4 ) E4*6", instrument="alto")
    assert bow_marks(voice) == "..."
    assert len(list(voice.iter("slur"))) == 2


def test_a_string_number_stands_where_the_string_is_new():
    root = music("G: 1 2 D: 1 2 1 G: 1 2 3")
    numbers = [note.findtext(".//string") for note in main_notes(root)]
    assert numbers == ["4", None, "3", None, None, "4", None, None]
