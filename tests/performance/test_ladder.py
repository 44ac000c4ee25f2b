"""The ladder climbs from start to goal, both included."""

from __future__ import annotations

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from playalong.drill.model import TEMPO_RANGE_BPM, Tempo
from playalong.performance.ladder import rungs


@pytest.mark.parametrize(
    ("start", "goal", "step", "climb"),
    [
        (60, 80, "marks", (60, 63, 66, 69, 72, 76, 80)),
        (60, 60, "marks", (60,)),
        (60, 61, "marks", (60, 61)),
        (61, 70, "marks", (61, 63, 66, 69, 70)),  # a goal between marks is the last rung
        (30, 41, "marks", (30, 32, 34, 36, 38, 40, 41)),  # below 40 they go on by 2
        (200, 230, "marks", (200, 208, 216, 224, 230)),  # above 208 by 8
        (60, 80, "+8", (60, 68, 76, 80)),
        (60, 80, "+10", (60, 70, 80)),
        (60, 80, "+100", (60, 80)),
        (60, 80, "+5%", (60, 63, 66, 69, 73, 77, 80)),  # 63, 66.15, 69.46, 72.93, 76.58, 80.41
        (20, 24, "+1%", (20, 21, 22, 23, 24)),
        (60, 60, "+5%", (60,)),
    ],
)
def test_the_rungs_are_those_that_the_steps_make(
    start: int, goal: int, step: str, climb: tuple[int, ...]
) -> None:
    assert rungs(Tempo(start, goal, step)) == climb


@pytest.mark.parametrize(
    ("start", "goal", "step"), [(20, 40, 2), (40, 60, 2), (60, 72, 3), (72, 120, 4),
                                (120, 144, 6), (144, 208, 8), (208, 320, 8)],
)  # fmt: skip
def test_marks_stand_so_far_apart_in_each_stretch_and_nowhere_else(
    start: int, goal: int, step: int
) -> None:
    """Those of the pendulum metronome from 40 to 208; below they go on by 2, above by 8."""
    assert rungs(Tempo(start, goal, "marks")) == tuple(range(start, goal + 1, step))
    # a start between two marks leads on to the next of them
    assert rungs(Tempo(start + 1, goal, "marks"))[1] == start + step


@pytest.mark.parametrize(
    ("start", "goal", "step", "climb"),
    [
        (60, 79, "+10", (60, 70, 79)),  # the last step is shorter
        (60, 81, "+10", (60, 70, 80, 81)),
        (60, 66, "+5%", (60, 63, 66)),  # 66.15 is the goal
        (60, 67, "+5%", (60, 63, 66, 67)),
        (60, 64, "+2%", (60, 61, 62, 64)),  # 61.2, 62.424, and 63.67 is 64 as whole beats
        (20, 22, "+3%", (20, 21, 22)),  # 20.6, 21.218, 21.85: never a tempo twice
        (100, 130, "+10%", (100, 110, 121, 130)),  # ten per cent of the tempo before
        (60, 66, "+2.5%", (60, 62, 63, 65, 66)),  # 61.5 by whole numbers, less in floating point
    ],
)
def test_steps_by_a_number_or_by_per_cent_end_at_the_goal(
    start: int, goal: int, step: str, climb: tuple[int, ...]
) -> None:
    assert rungs(Tempo(start, goal, step)) == climb


tempi = st.integers(*TEMPO_RANGE_BPM)
STEPS = st.sampled_from(("marks", "+1", "+4", "+17", "+1%", "+2.5%", "+5%", "+40%"))


@given(tempi, tempi, STEPS)
def test_every_ladder_climbs_strictly_from_start_to_goal(one: int, two: int, step: str) -> None:
    start, goal = sorted((one, two))
    climb = rungs(Tempo(start, goal, step))
    assert (climb[0], climb[-1]) == (start, goal)
    assert all(low < high for low, high in pairwise(climb))


@given(st.integers(40, 320), st.integers(40, 320))
def test_no_step_by_marks_is_more_than_six_per_cent(one: int, two: int) -> None:
    assert all(high <= low * 1.06 for low, high in pairwise(rungs(Tempo(*sorted((one, two))))))
