"""The ladder's marks against the traditional pendulum scale.

The 39 marks from 40 to 208 are printed on the dials and in player's lists (range 40 to 208:
Oxford Dictionary of Music, "metronome"); figures derived from them are computed.
"""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise

import pytest

from playalong.drill.model import Tempo
from playalong.performance.clock import Clock
from playalong.performance.ladder import MARKS, rungs

PENDULUM = (
    *(40, 42, 44, 46, 48, 50, 52, 54, 56, 58, 60, 63, 66, 69, 72, 76, 80, 84, 88, 92, 96, 100),
    *(104, 108, 112, 116, 120, 126, 132, 138, 144, 152, 160, 168, 176, 184, 192, 200, 208),
)


def test_a_ladder_from_40_to_208_takes_the_39_marks() -> None:
    assert len(PENDULUM) == 39
    assert rungs(Tempo(40, 208)) == PENDULUM


@pytest.mark.parametrize(
    ("start", "end", "step"), [(40, 60, 2), (60, 72, 3), (72, 120, 4), (120, 144, 6), (144, 208, 8)]
)
def test_marks_go_on_by_the_traditional_steps(start: int, end: int, step: int) -> None:
    assert rungs(Tempo(start, end)) == tuple(range(start, end + 1, step))


def test_relative_steps_lie_between_three_and_a_half_and_five_and_a_half_per_cent() -> None:
    steps = {pair: pair[1] / pair[0] - 1 for pair in pairwise(PENDULUM)}
    assert min(steps, key=steps.__getitem__) == (58, 60)
    assert min(steps.values()) == pytest.approx(0.03448, abs=5e-6)
    assert max(steps.values()) == pytest.approx(0.05556, abs=5e-6)
    assert steps[72, 76] == steps[144, 152] == max(steps.values())


def test_doubles_and_halves_of_marks_are_marks() -> None:
    assert all(2 * mark in MARKS for mark in PENDULUM if mark <= 104)
    assert all(mark // 2 in MARKS for mark in PENDULUM if mark >= 80 and mark % 2 == 0)


def test_from_60_to_120_are_seventeen_marks() -> None:
    assert len(rungs(Tempo(60, 120))) == 17


def test_midi_tempi_of_the_marks_are_exact_or_within_1_6_parts_in_a_million() -> None:
    exact = {40, 48, 50, 60, 80, 96, 100, 120, 160, 192, 200}
    for mark in PENDULUM:
        microseconds = Clock.at(Fraction(mark)).microseconds
        off = abs(Fraction(60_000_000, microseconds) / mark - 1)
        assert (off == 0) == (mark in exact)
        assert off <= Fraction(16, 10_000_000)
