"""The ladder: the tempi of a drill, from start to goal, both included.

The marks are those of the traditional pendulum metronome (common practice): steps of 2 from 40,
3 from 60, 4 from 72, 6 from 120, 8 from 144 to 208. Below 40 they go on by 2, above 208 by 8.
"""

from __future__ import annotations

from fractions import Fraction
from itertools import chain

from playalong.drill.model import TEMPO_RANGE_BPM, Tempo

_STEPS = ((20, 2), (60, 3), (72, 4), (120, 6), (144, 8))  # from this tempo on, in steps of
_ENDS = (*(start for start, _ in _STEPS[1:]), TEMPO_RANGE_BPM[1] + 1)
MARKS = tuple(
    chain.from_iterable(
        range(start, end, step) for (start, step), end in zip(_STEPS, _ENDS, strict=True)
    )
)


def rungs(tempo: Tempo) -> tuple[int, ...]:
    """Whole beats a minute, strictly climbing."""
    if tempo.step == "marks":
        between = [mark for mark in MARKS if tempo.start < mark < tempo.goal]
    else:
        between = list(_constant_steps(tempo))
    return tuple(dict.fromkeys([tempo.start, *between, tempo.goal]))


def _constant_steps(tempo: Tempo) -> list[int]:
    """Steps by a number or by per cent of the exact value before, rounded to whole beats (a half
    to the even one)."""
    amount = Fraction(tempo.step.strip("+%"))
    exact = Fraction(tempo.start)
    found: list[int] = []
    while True:
        exact = exact * (1 + amount / 100) if tempo.step.endswith("%") else exact + amount
        if round(exact) >= tempo.goal:
            return found
        if round(exact) > (found or [tempo.start])[-1]:
            found.append(round(exact))
