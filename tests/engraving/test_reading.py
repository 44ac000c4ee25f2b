"""What the signs of the music mean is told, and only of those that stand in it."""

from __future__ import annotations

import pytest
from playing import drill_of

from playalong.engraving.reading import (
    BOWS_CHANGE,
    GHOSTS,
    HALF_STEPS,
    HARMONIC_SIGN,
    SHIFTS,
    SLIDE_LENGTHS,
    SLIDES,
    SLIDES_OVER_REPEATS,
    THUMB_SIGN,
    reading_words,
)
from playalong.engraving.written_score import write_down
from playalong.score.writing import write


def words(bar: str, more: str) -> str:
    return " ".join(reading_words([write_down(write(drill_of(bar, more)))]))


@pytest.mark.parametrize(
    ("bar", "more", "told"),
    [
        ("1 2 3 4 4 3 2 1", 'bow = "bar"\npasses = 2', True),
        ("1 2 3 4 4 3 2 1", 'bow = "bar"\npasses = 1', False),
        ("1 2 3 4 4 3 2 1", 'bow = "half bar"\npasses = 2', False),
    ],
)
def test_an_odd_number_of_bows_in_a_pass_is_told(bar, more, told):
    assert (BOWS_CHANGE in words(bar, more)) == told


@pytest.mark.parametrize(
    ("bar", "told"), [("p1: 1*4 p3: 1*4", True), ("p1: 1*2 p3: 1*2 p1: 1*4", False)]
)
def test_a_slide_over_a_repeat_sign_is_told_to_stand_in_words(bar, told):
    more = 'passes = 2\nstrings = ["D"]\nkeys = ["C major"]'
    assert (SLIDES_OVER_REPEATS in words(bar, more)) == told


@pytest.mark.parametrize(
    ("bar", "told"),
    [
        ("p1: 1*4 3*4", ()),
        ("p1: 1*4 2*4", (HALF_STEPS,)),
        ("p1: 1*4 p3: 1*4", (SLIDES, SHIFTS)),
        ("p1: 1*4 p3: 3*4", (SLIDES, GHOSTS, SHIFTS)),
        ("p1: 1*4 p3: -3*4", (SHIFTS,)),
        ("p3: 1*4 p1: 4*4", (SHIFTS,)),
        ("p1: 4*4 ~2#*4", (SLIDES, SLIDE_LENGTHS)),
        ("p1: 2*4 2#*4", (HALF_STEPS,)),
    ],
)
def test_only_signs_that_stand_on_the_sheet_are_explained(bar, told):
    more = 'passes = 1\nstrings = ["D"]\nkeys = ["C major"]'
    assert words(bar, more) == " ".join(told)


@pytest.mark.parametrize(
    ("bar", "told"),
    [
        ("D: t7: T*4 2*4", (THUMB_SIGN,)),
        ("D: p7: 1o*4 1o*4", (HARMONIC_SIGN,)),
        ("D: p1: 1*4 4*4", ()),
    ],
)
def test_a_cellists_thumb_and_harmonics_are_explained_where_they_stand(bar, told):
    more = 'passes = 1\nkeys = ["D major"]'
    drill = drill_of(bar, more, instrument="cello")
    assert reading_words([write_down(write(drill))]) == list(told)
