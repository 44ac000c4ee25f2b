"""What the sheet explains of itself: only what stands on it."""

from __future__ import annotations

import pytest
from playing import drill_of

from playalong.engraving.written_score import write_down
from playalong.score.writing import write
from playalong.sheet.words import (
    BOWS_CHANGE,
    GHOSTS,
    HALF_STEPS,
    SHIFTS,
    SLIDE_LENGTHS,
    SLIDES,
    SLIDES_OVER_REPEATS,
    reading_words,
    tuning_words,
)


def words(bar: str, more: str) -> str:
    return reading_words([write_down(write(drill_of(bar, more)))])


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
    ("temperament", "told"),
    [
        ("equal", "equal temperament"),
        ("pythagorean", "pure fifths"),
        (
            "just",  # check: a syntonic comma, 81/80, is 21.5 cents
            "just intonation; the open E string stands 21.5 cents above the key’s E; "
            "the open A string stands 21.5 cents above the key’s A",
        ),
    ],
)
def test_the_tuning_is_named_with_the_open_strings_that_stand_apart_in_it(temperament, told):
    more = f'strings = ["D"]\nkeys = ["C major"]\ntuning = {{ temperament = "{temperament}" }}'
    assert tuning_words(write(drill_of("1*8", more))) == f"A4 = 440 Hz, {told}"
