"""Slides' curves: one shape for all slides of one interval.

A shape is the way of a slide in tenths of a cent above its first pitch, at equal steps of its time,
as many as are needed: between two of them the page draws a straight line, and stays within
NEAR_CENTS of every point of the timeline's curve.
"""

from __future__ import annotations

from bisect import bisect
from collections.abc import Sequence
from itertools import count
from math import prod

from playalong.music.temperament import cents
from playalong.page.tables import Table, packed, steps
from playalong.performance.timeline import TimelineSlide

UNITS = 10  # in a cent
NEAR_CENTS = 0.5
STEPS = 8  # of a shape at least, and more by as many

Point = tuple[float, float]  # share of the slide's time, cents above its first pitch


class Shapes:
    """The shapes that all slides of a page share, as columns of steps."""

    def __init__(self, columns: Table) -> None:
        self._columns = columns
        self._known: list[tuple[list[int], int]] = []

    def number(self, slide: TimelineSlide) -> int:
        """The number of a column that holds the slide's shape."""
        points = _points(slide)
        for shape, number in self._known:
            if _is_near(shape, points):
                return number
        shape = _shape(points)
        self._known.append((shape, self._columns.number(packed(steps(shape)))))
        return self._known[-1][1]


def _points(slide: TimelineSlide) -> list[Point]:
    length = slide.to_seconds - slide.from_seconds
    return [
        ((seconds - slide.from_seconds) / length, cents(hz, slide.from_hz))
        for seconds, hz in slide.curve
    ]


def _shape(points: Sequence[Point]) -> list[int]:
    for size in count(STEPS, STEPS):
        shape = [round(_between(points, n / size) * UNITS) for n in range(size + 1)]
        if _is_near(shape, points):
            break
    return shape


def _between(points: Sequence[Point], share: float) -> float:
    """Cents at `share`, on the cubic through the four points around it (Lagrange)."""
    place = bisect(points, (share,)) - 2
    first = max(0, min(place, len(points) - 4))
    near = points[first : first + 4]
    return sum(
        y * prod((share - other) / (x - other) for other, _ in near if other != x) for x, y in near
    )


def _is_near(shape: Sequence[int], points: Sequence[Point]) -> bool:
    """Whether straight lines between the shape's values pass by every point."""
    return all(
        abs(_along(shape, share) / UNITS - expected) < NEAR_CENTS
        for share, expected in reversed(points)  # the interval first
    )


def _along(shape: Sequence[int], share: float) -> float:
    place = min(int(share * (len(shape) - 1)), len(shape) - 2)
    way = share * (len(shape) - 1) - place
    return shape[place] + (shape[place + 1] - shape[place]) * way
