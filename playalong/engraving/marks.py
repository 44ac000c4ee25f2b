"""Marks on a page: filled outlines, lines, and words. Lengths are in mm, y goes down."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from operator import attrgetter

from playalong.engraving.fonts import Command, Point, faces, runs, width_mm

INK = "#000000"
SOFT = "#707070"


@dataclass(frozen=True)
class Box:
    left: float
    top: float
    right: float
    bottom: float

    @property
    def width(self) -> float:
        return self.right - self.left

    @property
    def height(self) -> float:
        return self.bottom - self.top

    @property
    def middle(self) -> float:
        return (self.left + self.right) / 2

    @property
    def middle_y(self) -> float:
        return (self.top + self.bottom) / 2


_SIDES = attrgetter("left", "top", "right", "bottom")


def around(boxes: Iterable[Box]) -> Box:
    """The smallest box that holds all; there must be one."""
    lefts, tops, rights, bottoms = zip(*map(_SIDES, boxes), strict=True)
    return Box(min(lefts), min(tops), max(rights), max(bottoms))


@dataclass(frozen=True)
class Ink:
    """An outline: filled where `line_mm` is 0, a line of that width otherwise."""

    commands: tuple[Command, ...]
    line_mm: float = 0.0
    kind: str = ""
    colour: str = INK

    @cached_property
    def box(self) -> Box:
        """From the control points, so never too small."""
        points = [point for _, points in self.commands for point in points]
        xs, ys = zip(*points, strict=True)
        half = self.line_mm / 2
        return Box(min(xs) - half, min(ys) - half, max(xs) + half, max(ys) + half)

    def moved(self, right: float, down: float) -> Ink:
        return Ink(scaled(self.commands, 1, right, down), self.line_mm, self.kind, self.colour)


@dataclass(frozen=True)
class Words:
    """A line of text from its left end on the base line."""

    x: float
    y: float
    text: str
    size_mm: float
    cut: str = "regular"
    kind: str = ""
    colour: str = INK

    @cached_property
    def width(self) -> float:
        return width_mm(self.text, self.size_mm, self.cut)

    def letters(self) -> Iterator[tuple[str, str, float]]:
        """Every letter with its face and the x of its left end."""
        x = self.x
        for run, face in runs(self.text, self.cut):
            for character in run:
                yield character, face, x
                x += faces()[face].width_em(character) * self.size_mm

    @cached_property
    def box(self) -> Box:
        """Of the ink itself; an empty one for blanks."""
        boxes = []
        for character, face, x in self.letters():
            if bounds := faces()[face].bounds(character):
                left, low, right, high = (self.size_mm * value for value in bounds)
                boxes.append(Box(x + left, self.y - high, x + right, self.y - low))
        return around(boxes) if boxes else Box(self.x, self.y, self.x, self.y)

    def moved(self, right: float, down: float) -> Words:
        return replace(self, x=self.x + right, y=self.y + down)


Mark = Ink | Words


def scaled(
    commands: Sequence[Command], scale: float, right: float, down: float, *, flip: bool = False
) -> tuple[Command, ...]:
    up = -scale if flip else scale
    return tuple(
        [
            (name, tuple([(right + scale * x, down + up * y) for x, y in points]))
            for name, points in commands
        ]
    )


def line(*points: Point, width: float, kind: str = "", colour: str = INK) -> Ink:
    first, *others = points
    commands: list[Command] = [("moveTo", (first,))]
    commands += [("lineTo", (point,)) for point in others]
    return Ink(tuple(commands), width, kind, colour)


def disc(x: float, y: float, radius: float, kind: str = "", width: float = 0.0) -> Ink:
    """A circle of four cubic curves: filled, or drawn where a line width is given."""
    k = radius * 0.5523
    commands: tuple[Command, ...] = (
        ("moveTo", ((x + radius, y),)),
        ("curveTo", ((x + radius, y + k), (x + k, y + radius), (x, y + radius))),
        ("curveTo", ((x - k, y + radius), (x - radius, y + k), (x - radius, y))),
        ("curveTo", ((x - radius, y - k), (x - k, y - radius), (x, y - radius))),
        ("curveTo", ((x + k, y - radius), (x + radius, y - k), (x + radius, y))),
        ("closePath", ()),
    )
    return Ink(commands, width, kind)


def moved(marks: Iterable[Mark], right: float, down: float) -> list[Mark]:
    return [mark.moved(right, down) for mark in marks]
