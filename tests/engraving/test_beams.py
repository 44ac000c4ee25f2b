"""Beams by the meter, and stems that agree under a beam (common practice)."""

from __future__ import annotations

from xml.etree.ElementTree import Element

import pytest
from written_music import main_notes, music


def beam_words(root: Element) -> list[str | None]:
    return [note.findtext("beam") for note in main_notes(root)]


FOUR = ["begin", "continue", "continue", "end"]


@pytest.mark.parametrize(
    ("meter", "bar", "beams"),
    [
        ("4/4", "1 1 1 1 1 1 1 1", FOUR * 2),
        ("3/4", "1 1 1 1 1 1", ["begin", *["continue"] * 4, "end"]),
        ("6/8", "1 1 1 1 1 1", ["begin", "continue", "end"] * 2),
        ("5/8", "1 1 1 1 1", ["begin", "end", "begin", "continue", "end"]),
        ("5/4", "1 1 1 1 1 1 1 1 1 1", ["begin", "end"] * 5),
        ("4/4", "1 r 1 1 1*2 1 1", [None, None, "begin", "end", None, "begin", "end"]),
        ("2/2", "1 1 1 1 1 1 1 1", FOUR * 2),
        ("2/4", "1 1 1 1", ["begin", "end"] * 2),
        ("3/8", "1 1 1", ["begin", "continue", "end"]),
        ("7/8", "1 1 1 1 1 1 1", [*["begin", "end"] * 2, "begin", "continue", "end"]),
        ("9/8", "1 1 1 1 1 1 1 1 1", ["begin", "continue", "end"] * 3),
        ("3/16", "1*1/2 1*1/2 1*1/2", ["begin", "continue", "end"]),
        (
            "5/16",
            "1*1/2 1*1/2 1*1/2 1*1/2 1*1/2",
            ["begin", "end", "begin", "continue", "end"],
        ),
    ],
)
def test_beams_follow_the_meter_and_break_at_rests(meter, bar, beams):
    assert beam_words(music(bar, f'meter = "{meter}"')) == beams


def test_shorter_notes_break_their_half_bar_at_the_beat_and_leave_the_other_half_whole():
    root = music("1*1/2 1*1/2 1 1 1 1 1 1 1")
    assert beam_words(root) == ["begin", "continue", "end", "begin", "end", *FOUR]
    root = music("1 1 1 1 1 1 1*1/2 1*1/2 1")
    assert beam_words(root) == [*FOUR, "begin", "end", "begin", "continue", "end"]


def test_a_dotted_eighth_has_its_sixteenth_hooked_back():
    root = music("1*3/2 2*1/2 3*6")
    second = main_notes(root)[1].findall("beam")
    assert [beam.text for beam in second] == ["end", "backward hook"]


def stems(bar: str) -> list[str | None]:
    root = music(bar, 'strings = ["D"]\nkeys = ["C major"]')
    return [note.findtext("stem") for note in main_notes(root)]


def test_stems_point_to_the_middle_line_and_down_from_it():
    """The violin's middle line is B4."""
    assert stems("A4*2 B4*2 C5*2 E4*2") == ["up", "down", "down", "up"]


def test_the_stems_of_a_beam_agree_by_the_head_farthest_from_the_middle_line():
    assert stems("E4 C5 C5 C5 G5 A4 A4 A4") == ["up"] * 4 + ["down"] * 4
