"""How lengths are written: notes, rests, ties, tuplets.

The rules are common practice; no table of them is cited.
"""

from __future__ import annotations

from fractions import Fraction
from xml.etree.ElementTree import Element

import pytest
from hypothesis import given
from hypothesis import strategies as st
from written_music import main_notes, music

from playalong.engraving.note_values import (
    LengthError,
    beat_value,
    note_values,
    one_value,
    rest_values,
)
from playalong.music.meter import Meter

METERS = ("4/4", "3/4", "2/2", "5/4", "6/8", "9/8", "3/8", "7/8", "6/16")


def types(root: Element) -> list[str]:
    """Types with dots, `r` before rests, `~` before what is tied on."""
    return [
        "r" * (note.find("rest") is not None)
        + "~" * any(tie.get("type") == "stop" for tie in note.findall("tie"))
        + note.findtext("type")
        + "." * len(note.findall("dot"))
        for note in main_notes(root)
    ]


@pytest.mark.parametrize(
    ("meter", "bar", "shown"),
    [
        ("4/4", "1*8", ["whole"]),
        ("4/4", "1*5 2*3", ["half", "~eighth", "quarter."]),
        ("4/4", "1 2*5 3*2", ["eighth", "eighth", "~half", "quarter"]),
        ("6/8", "1 2*2 1*3", ["eighth", "quarter", "quarter."]),
        ("6/8", "1*2 2*2 1*2", ["quarter", "eighth", "~eighth", "quarter"]),
        ("6/8", "1*6", ["half."]),
        ("4/4", "1 r*5 1*2", ["eighth", "reighth", "rquarter", "rquarter", "quarter"]),
        ("6/8", "1 r*2 r*3", ["eighth", "reighth", "reighth", "rquarter."]),
        ("4/4", "1*3/2 2*1/2 1*6", ["eighth.", "16th", "half."]),
    ],
)
def test_notes_show_the_beat_with_ties_and_rests_fill_it(meter, bar, shown):
    assert types(music(bar, f'meter = "{meter}"')) == shown


def test_thirds_of_a_beat_are_written_three_in_the_time_of_two():
    root = music("1*2/3 2*2/3 3*2/3 1*6")
    first, second, third, _ = main_notes(root)
    for note in (first, second, third):
        assert note.findtext("type") == "eighth"
        assert note.findtext("time-modification/actual-notes") == "3"
        assert note.findtext("time-modification/normal-notes") == "2"
    assert first.find(".//tuplet").get("type") == "start"
    assert third.find(".//tuplet").get("type") == "stop"


@pytest.mark.parametrize(
    ("bar", "ratio", "shown"),
    [
        ("1/7 1/7 1/7 1/7 1/7 1/7 1/7", "7:4", ["16th"] * 7),
        ("2/7 1/7 4/7", "7:4", ["eighth", "16th", "quarter"]),
        ("2/9 1/9 3/9 3/9", "9:8", ["16th", "32nd", "16th.", "16th."]),
        ("3/9 1/9 5/9", "9:8", ["16th.", "32nd", "eighth", "~32nd"]),
    ],
)
def test_what_fills_a_beat_is_one_tuplet_where_one_sign_writes_each(bar, ratio, shown):
    """Nine, three of which are a third of the beat, are no triplet among others."""
    tokens = " ".join(f"{1 + n % 2}*{length}" for n, length in enumerate(bar.split()))
    root = music(f"{tokens} 1*3", 'note = "quarter"')
    *notes, _ = main_notes(root)
    assert types(root)[: len(shown)] == shown
    ratios = {
        f"{note.findtext('*/actual-notes')}:{note.findtext('*/normal-notes')}" for note in notes
    }
    assert ratios == {ratio}
    brackets = [each.get("type") for note in notes for each in note.iter("tuplet")]
    assert brackets == ["start", "stop"]


@given(st.sampled_from(METERS), st.integers(0, 95), st.integers(1, 96), st.sampled_from((16, 24)))
def test_note_and_rest_values_fill_their_length_exactly(meter, start, length, grid):
    known = Meter.parse(meter)
    begin, span = Fraction(start, grid) % known.bar, Fraction(length, grid)
    for values in (note_values(begin, span, known), rest_values(begin, span, known)):
        assert sum(value.length for value in values) == span


@pytest.mark.parametrize(
    ("meter", "beat"),
    [
        ("4/4", ("quarter", 0)),
        ("2/2", ("half", 0)),
        ("3/8", ("eighth", 0)),
        ("3/16", ("16th", 0)),
        ("6/8", ("quarter", 1)),
        ("6/16", ("eighth", 1)),
    ],
)
def test_the_note_of_a_beat_is_dotted_in_compound_meters(meter, beat):
    value = beat_value(Meter.parse(meter))
    assert (value.type, value.dots) == beat


def test_a_length_that_takes_several_signs_or_none_has_no_single_one():
    assert one_value(Fraction(3, 4)).dots == 1
    assert one_value(Fraction(5, 4)) is None
    assert one_value(Fraction(1, 960)) is None


def test_a_note_too_short_for_any_sign_is_refused_with_what_makes_the_tracks_all_the_same():
    with pytest.raises(LengthError, match=r"1/960 quarters is too short .* --no-sheet --no-page"):
        note_values(Fraction(0), Fraction(1, 960), Meter(4, 4))
