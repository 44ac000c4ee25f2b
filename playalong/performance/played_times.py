"""When each note begins and ends: as written, and grace notes before the beat.

A grace note takes its time from what comes before, so that its bar and beat stay whole. How long
one is, is common practice from memory: as quick as a finger falls clearly, whatever the tempo.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from playalong.performance.clock import Clock
from playalong.performance.performance import Pass

GRACE_SECONDS = Fraction(12, 100)
MOST_TAKEN = Fraction(1, 2)  # of the time from the start of what comes before
GRACE_BEATS = Fraction(1, 64)  # before its note, for each: a place to tell it by, not its time

Time = tuple[Fraction, Fraction, Fraction]  # start and end in quarters, and beats early


def played_times(clock: Clock, played: Sequence[Pass]) -> list[Time]:
    """Start and end of every note of the passes in order, and how early its place is told."""
    times: list[Time] = []
    waiting = 0  # grace notes
    for each in played:
        for note in each.notes:
            if note.is_grace:
                waiting += 1
                continue
            start = each.start + note.start
            times += _graces(clock, times, start, waiting)
            times.append((start, start + note.length, Fraction(0)))
            waiting = 0
    return times


def _graces(clock: Clock, times: list[Time], start: Fraction, count: int) -> list[Time]:
    """So many grace notes up to `start`; what sounds before is cut where they begin."""
    if not count:
        return []
    begun = times[-1][0] if times else Fraction(0)
    span = min(clock.quarters(GRACE_SECONDS), (start - begun) * MOST_TAKEN / count)
    first = start - count * span
    if times:
        times[-1] = (begun, min(times[-1][1], first), times[-1][2])
    return [
        (first + n * span, first + (n + 1) * span, (count - n) * GRACE_BEATS) for n in range(count)
    ]
