"""How high and how low the marks of a system reach, so that words find free room."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from itertools import pairwise

from playalong.engraving.fonts import Point
from playalong.engraving.marks import Box, Ink, Mark, Words

GAP_MM = 0.7  # between words and what they stand over
LONG_MM, SLANT_MM = 4.0, 0.8  # beyond which a box would hide free room
PIECES = 12  # of each stretch of an outline


@dataclass
class Skyline:
    """Boxes that are taken. y goes down: a smaller y is higher."""

    boxes: list[Box] = field(default_factory=list)

    def take(self, marks: Iterable[Mark]) -> None:
        for mark in marks:
            self.boxes += [mark.box] if isinstance(mark, Words) else slices(mark)

    def top(self, left: float, right: float, beside: float = GAP_MM) -> float:
        """The highest taken y between two x and `beside` them, or 0, the top of the staff."""
        return min((box.top for box in self._between(left, right, beside)), default=0.0)

    def bottom(self, left: float, right: float) -> float:
        return max((box.bottom for box in self._between(left, right, GAP_MM)), default=0.0)

    def _between(self, left: float, right: float, beside: float) -> list[Box]:
        return [
            box for box in self.boxes if box.left < right + beside and box.right > left - beside
        ]


def slices(ink: Ink) -> list[Box]:
    """Boxes along an outline: one, or for what is long and slants, one for every short piece."""
    if ink.box.width < LONG_MM or ink.box.height < SLANT_MM:
        return [ink.box]
    points: list[Point] = []
    for name, ends in ink.commands:
        start = points[-1] if points else (ends[0] if ends else (0.0, 0.0))
        points += [_between(name, start, ends, n / PIECES) for n in range(PIECES + 1) if ends]
    half = ink.line_mm / 2
    return [
        Box(min(x, u) - half, min(y, v) - half, max(x, u) + half, max(y, v) + half)
        for (x, y), (u, v) in pairwise(points)
    ]


def _between(name: str, start: Point, ends: Sequence[Point], t: float) -> Point:
    """A point of a line or a cubic curve (de Casteljau)."""
    points = [start, *(ends if name == "curveTo" else ends[-1:])]
    while len(points) > 1:
        points = [(a[0] + (b[0] - a[0]) * t, a[1] + (b[1] - a[1]) * t) for a, b in pairwise(points)]
    return points[0]


def rows(spans: Sequence[tuple[float, float]], gap: float) -> list[int]:
    """The first row in which each span, left to right, stands free of the ones before it."""
    ends: list[float] = []
    found = []
    for left, right in spans:
        row = next((n for n, end in enumerate(ends) if left >= end + gap), len(ends))
        if row == len(ends):
            ends.append(right)
        else:
            ends[row] = right
        found.append(row)
    return found


def spread(
    spans: Sequence[tuple[float, float]], gap: float, room: float, most: float
) -> list[tuple[float, float]]:
    """Spans moved to the right by `most` at the most, or back from the edge, to stand apart."""
    found: list[tuple[float, float]] = []
    for left, right in spans:
        width = right - left
        left = min(max(left, 0.0), room - width)
        if found and left < found[-1][1] + gap <= left + most:
            left = min(found[-1][1] + gap, room - width)
        found.append((left, left + width))
    return found
