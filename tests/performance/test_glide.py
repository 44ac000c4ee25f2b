"""A slide's course: monotone, between its ends, and the same way back."""

from __future__ import annotations

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from playalong.performance.glide import Glide, minimum_jerk

OPEN_HZ = 293.665
STEPS = [step / 100 for step in range(101)]
semitones = st.floats(0.1, 24)


def glide(start: float, end: float, *, on_string: bool = True) -> Glide:
    hz = [OPEN_HZ * 2 ** (each / 12) for each in (start, end)]
    return Glide(hz[0], hz[1], OPEN_HZ if on_string else None)


@given(semitones, semitones, st.booleans())
def test_a_slide_never_turns_and_never_leaves_its_ends(
    start: float, end: float, on_string: bool
) -> None:
    heard = [glide(start, end, on_string=on_string).hz_at(t) for t in STEPS]
    rising = sorted(heard, reverse=start > end)
    assert heard == pytest.approx(rising, rel=1e-12)
    slide = glide(start, end)
    assert heard[0] == pytest.approx(slide.from_hz, rel=1e-12)
    assert heard[-1] == pytest.approx(slide.to_hz, rel=1e-12)


@given(semitones, semitones)
def test_the_way_back_mirrors_the_way_there_in_place(start: float, end: float) -> None:
    there, back = glide(start, end), glide(end, start)
    for t in STEPS:
        assert there.hz_at(t) == pytest.approx(back.hz_at(1 - t), rel=1e-9)


@given(st.floats(0, 1))
def test_the_two_halves_of_the_way_are_alike(t: float) -> None:
    assert minimum_jerk(t) + minimum_jerk(1 - t) == pytest.approx(1, abs=1e-12)


def test_without_a_string_the_course_is_taken_in_cents() -> None:
    assert glide(2, 9, on_string=False).hz_at(0.5) == pytest.approx(OPEN_HZ * 2 ** (5.5 / 12))


def test_a_slide_starts_and_ends_at_rest() -> None:
    cents = [glide(2, 9).hz_at(t / 1000) for t in range(1001)]
    steps = [abs(b - a) for a, b in pairwise(cents)]
    assert max(steps[0], steps[-1]) < max(steps) / 1000
