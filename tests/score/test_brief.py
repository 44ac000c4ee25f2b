"""explain --brief: a line for each bar with its notes and shifts, then the warnings."""

from __future__ import annotations

import pytest
from explained import drill_text, printed

from playalong.errors import PlayalongError


def brief(bar: str, *settings: str, instrument: str = "violin", words: tuple[str, ...] = ()) -> str:
    return printed(drill_text(bar, *settings, instrument=instrument), "--brief", *words)


def test_a_bar_is_a_line_with_its_notes_and_each_shift_where_it_falls() -> None:
    assert (
        brief("1 2 3 1 p3: 1 2 p1: 2 1", 'keys = ["F major"]', "climb = 2", instrument="viola")
        == """\
Try: viola, D string, F major, 4/4
bar 1: p1 E4 F4 G4 E4 -> p3 (same finger, 53 mm) G4 A4 -> p1 (same finger, 53 mm) F4 E4
bar 2: -> p2 (same finger, 19 mm) F4 G4 A4 F4 -> p4 (same finger, 65 mm) A4 Bb4 \
-> p2 (same finger, 65 mm) G4 F4
"""
    )


@pytest.mark.parametrize(
    ("bar", "line"),
    [
        ("p3: 1*4 p1: 4*4", "bar 1: p3 G4 -> p1 (contrary, 46 mm) A4"),
        ("2*4 2#*4", "bar 1: p1 F4 F#4"),
        ("2*4 ~2#*4", "bar 1: p1 F4 -> (half-step slide, 15 mm) F#4"),
        ("0*4 r*4", "bar 1: D4"),
    ],
)
def test_a_shift_has_its_kind_and_the_hands_travel(bar: str, line: str) -> None:
    assert brief(bar, "passes = 1").splitlines()[1:] == [line]


def test_the_way_back_stands_at_the_end_of_each_place() -> None:
    lines = brief("1*4 p3: 1*4 | p3: 2*8", "climb = 2").splitlines()
    assert [line.partition(" -> back ")[2] for line in lines[1:]] == [
        "",
        "p1 (old finger leads, 46 mm)",
        "",
        "p2 (old finger leads, 57 mm)",
    ]


def test_warnings_and_what_is_left_out_have_a_line_each() -> None:
    text = brief("1# 2 3 4 1*4", "climb = 2", words=("--positions", "1-1"))
    assert text.splitlines()[2:] == [
        "warning: bar 1, position 1 on the D string: finger 2 (F4) does not sound above "
        "finger 1 (E#4)",
        "left out: the starting position that reaches position 2 is left out",
    ]


def test_it_is_for_reading_and_data_are_not_brief() -> None:
    with pytest.raises(PlayalongError, match="--brief is text for reading"):
        brief("1*8", words=("--json",))


def test_keys_stand_apart_and_an_instrument_without_strings_is_told_too() -> None:
    text = brief("C5*8", 'keys = ["C major", "G major"]', instrument="flute")
    assert text == "Try: flute, C major, 4/4\nbar 1: C5\n\nTry: flute, G major, 4/4\nbar 1: C5\n"
