"""Which sixths and sevenths a melodic minor raises, from the drill's text to what is told.

Common practice; no table of such bars was found, so the bars are the project's own.
"""

from __future__ import annotations

import pytest
from explained import drill_text, printed, told
from hypothesis import given
from hypothesis import strategies as st

from playalong.music.key import parse_key
from playalong.music.melodic import rising_notes

A_MINOR = parse_key("A melodic minor")


def played(bar: str, *settings: str, instrument: str = "violin") -> list[str]:
    """The pitches of each bar, joined by spaces."""
    keys = 'keys = ["A melodic minor"]'
    (data,) = told(drill_text(bar, keys, 'note = "quarter"', *settings, instrument=instrument))
    return [" ".join(note["pitch"] for note in each["notes"]) for each in data["bars"]]


@pytest.mark.parametrize(
    ("bar", "sounds"),
    [
        ("E5 F5 G5 A5", "E5 F#5 G#5 A5"),
        ("A5 G5 F5 E5", "A5 G5 F5 E5"),
        ("A5 G5 G5 A5", "A5 G#5 G#5 A5"),  # the lower neighbour of the tonic
        ("E5 F5 F5 E5", "E5 F5 F5 E5"),  # the upper neighbour of the fifth
        ("E5 G5 F5 E5", "E5 G5 F5 E5"),  # one kind, not both side by side
        ("A5 F5 G5 A5", "A5 F#5 G#5 A5"),
        ("A5 G5 F5 B5", "A5 G5 F5 B5"),  # a leap up from where it came down does not turn it
        ("A5 F5 A5 E5", "A5 F5 A5 E5"),
        ("F5 A5 G5 C6", "F#5 A5 G5 C6"),
        ("E5 r F5 A5", "E5 F#5 A5"),  # a rest does not turn the line
        ("D5 E5 F5 G5", "D5 E5 F#5 G#5"),  # at the end: as the line came
        ("B5 A5 G5 F5", "B5 A5 G5 F5"),
        ("G5*4", "G5"),
        ("Gn5 A5 G#5 E5", "G5 A5 G#5 E5"),  # written accidentals stand
    ],
)
def test_the_line_decides_and_a_written_accidental_stands(bar: str, sounds: str) -> None:
    assert played(bar, instrument="flute") == [sounds]


def test_fingers_take_the_form_of_their_line() -> None:
    """A string, first position: B4 C5 D5 E5; fourth: E5 F5 G5 A5."""
    assert played("p4: 1 2 3 4 | 4 3 2 1", 'strings = ["A"]') == ["E5 F#5 G#5 A5", "A5 G5 F5 E5"]


def test_a_finger_with_a_mark_goes_by_the_signature() -> None:
    assert played("p4: 1 2# 2n 4", 'strings = ["A"]') == ["E5 F#5 F5 A5"]
    assert played("p4: 4 3# 2 1", 'strings = ["A"]') == ["A5 G#5 F5 E5"]


def test_an_open_string_sounds_as_it_is_tuned_whatever_the_line() -> None:
    assert played("G: p1: 0 1 0 1") == ["G3 A3 G3 A3"]


def test_each_starting_position_decides_anew() -> None:
    bars = played("p3: 1 2 3 1", 'strings = ["A"]', "climb = 3", "passes = 1")
    assert bars == ["D5 E5 F5 D5", "E5 F5 G5 E5", "F#5 G#5 A5 F5"]


def test_a_written_accidental_keeps_its_form_up_the_climb() -> None:
    assert played("F#5 A5 Gn5 A5", "climb = 2", instrument="flute") == [
        "F#5 A5 G5 A5",
        "G#5 B5 A5 B5",
    ]


def test_the_ghost_note_stands_in_the_form_of_the_line() -> None:
    """Finger 1 on E5 slides to where it stands in fifth position: F sharp on the way up to A5."""
    text = drill_text("p4: 1 p5: 3 p4: 1 r", 'keys = ["A melodic minor"]', 'note = "quarter"',
                      'strings = ["A"]')  # fmt: skip
    (data,) = told(text)
    up, down = data["bars"][0]["shifts"]
    assert (up["to"], up["ghost"]) == ("A5", "F#5")
    assert (down["to"], down["ghost"]) == ("E5", "G5")


def test_explain_says_which_form_was_taken() -> None:
    text = drill_text("E5 F5 G5 A5 | A5 G5 F5 E5", 'keys = ["A melodic minor"]',
                      'note = "quarter"', instrument="flute")  # fmt: skip
    lines = printed(text).splitlines()
    assert "    sixth and seventh: F#5 G#5 raised, since the line goes up" in lines
    assert "    sixth and seventh: G5 F5 by the signature, since the line goes down" in lines
    forms = [note["form"] for note in told(text)[0]["bars"][0]["notes"]]
    assert forms == [None, "rising", "rising", None]
    assert "sixth and seventh" not in printed(text.replace("melodic", "harmonic"))


@given(st.lists(st.integers(0, 69), min_size=1, max_size=12))
def test_neighbouring_sixths_and_sevenths_are_of_one_form_and_nothing_else_is_raised(
    line: list[int],
) -> None:
    rising = rising_notes(A_MINOR, line)
    degrees = [(index - A_MINOR.letter) % 7 in (5, 6) for index in line]
    assert len(rising) == len(line)
    assert all(degree or not up for degree, up in zip(degrees, rising, strict=True))
    for number in range(1, len(line)):
        if degrees[number - 1] and degrees[number]:
            assert rising[number - 1] == rising[number]
