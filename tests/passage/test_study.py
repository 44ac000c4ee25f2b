"""Which shifts of a passage are drilled."""

from __future__ import annotations

from playalong.drill.load import parse
from playalong.passage.costs import Sounding
from playalong.passage.study import hardest, shifts_of
from playalong.score.writing import write

DRILL = """title = "T"
instrument = "violin"
strings = ["D"]
keys = ["C major"]
bar = "p1: 1 p2: 1 p6: 1 p5: 1 p1: 1 p2: 1 p4: 1 3"
"""


def test_the_hardest_shift_comes_first_and_each_is_drilled_once() -> None:
    """By the way, at one tempo: up and down four positions, then two, then a step."""
    score = write(parse(DRILL))
    shifts = shifts_of(score, [Sounding(0.5)] * 8)
    totals = [shift.total for shift in shifts]
    assert totals == sorted(totals, reverse=True)
    assert {(shift.old, shift.new) for shift in shifts[:2]} == {(1, 2), (3, 4)}
    distinct = hardest(shifts, score, 9)
    assert len(distinct) == len(shifts) - 1  # from first to second position stands twice
    assert distinct[0] == shifts[0]
