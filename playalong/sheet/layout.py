"""Strips -> pages: what stands on which page, and how it shares the room there.

Page breaks are chosen together, as a typesetter chooses the line breaks of a paragraph: the ones
that cost least over the whole document.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from playalong.engraving.marks import Mark, around, moved

# What pages cost, in pages.
HALF, HALF_EMPTY = 0.5, 1000.0  # a page that is used less, though more could stand on it: never
QUARTER, NEARLY_EMPTY = 0.25, 2.0  # a last page that is used less
SLACK_MM = 0.01  # of rounding


# What a part is to those who listen, as PDF names it (ISO 32000-1, 14.8.4); an artifact is
# passed over.
TITLE, HEADING, PARAGRAPH, FIGURE, ARTIFACT = "H1", "H2", "P", "Figure", "Artifact"


@dataclass(frozen=True)
class Part:
    """Marks that are one thing to those who listen to a page."""

    role: str
    marks: tuple[Mark, ...]
    told: str = ""  # a figure in words, or how a paragraph with signs in it is read

    def moved(self, right: float, down: float) -> Part:
        return replace(self, marks=tuple(moved(self.marks, right, down)))


def marks_of(parts: Iterable[Part]) -> list[Mark]:
    return [mark for part in parts for mark in part.marks]


@dataclass(frozen=True)
class Strip:
    """What stands together across a page: parts from 0, 0, and the height that they take."""

    parts: tuple[Part, ...]
    height_mm: float

    @classmethod
    def of(cls, *parts: Part) -> Strip:
        """As high as its ink."""
        box = around(mark.box for mark in marks_of(parts))
        return cls(tuple(part.moved(0, -box.top) for part in parts), box.height)

    def over(self, other: Strip, gap_mm: float) -> Strip:
        """Both as one that no page break parts."""
        down = self.height_mm + gap_mm
        lower = (part.moved(0, down) for part in other.parts)
        return Strip((*self.parts, *lower), down + other.height_mm)


@dataclass(frozen=True)
class Item:
    """A strip in the order of the document."""

    strip: Strip
    name: str  # of the section that it belongs to; empty for what belongs to all
    gap_mm: float  # above it, where it does not begin a page
    stretch_mm: float  # how much more that may be where there is room
    break_cost: float  # of a page that begins with it, in pages


@dataclass(frozen=True)
class Layout:
    pages: tuple[tuple[Item, ...], ...]
    cost: float  # in pages


def best_pages(items: Sequence[Item], room_mm: float) -> Layout:
    """The items on pages of that height, at the least cost; each fits on a page of its own."""
    best: list[tuple[float, int]] = [(0.0, 0)]  # of the first n items: cost, start of the last page
    for end in range(1, len(items) + 1):
        found = []
        for start in reversed(range(end)):
            if height_mm(items[start:end]) > room_mm + SLACK_MM and start < end - 1:
                break
            before = best[start][0] + (items[start].break_cost if start else 0.0)
            found.append((before + _page_cost(items[start:end], items[end:], room_mm), start))
        best.append(min(found))
    pages: list[tuple[Item, ...]] = []
    end = len(items)
    while end:
        start = best[end][1]
        pages.insert(0, tuple(items[start:end]))
        end = start
    return Layout(tuple(pages), best[-1][0])


def height_mm(items: Sequence[Item]) -> float:
    """On one page, unstretched."""
    return sum(each.strip.height_mm for each in items) + sum(each.gap_mm for each in items[1:])


def _page_cost(page: Sequence[Item], after: Sequence[Item], room_mm: float) -> float:
    used = height_mm(page) / room_mm
    cost = 1 + (1 - used) ** 2
    if not after:
        return cost + (NEARLY_EMPTY if used < QUARTER else 0.0)
    more_could_stand = height_mm((*page, after[0])) <= room_mm
    return cost + (HALF_EMPTY if used < HALF and more_could_stand else 0.0)


def placed(items: Sequence[Item], room_mm: float) -> list[Part]:
    """The parts of a page from its upper left corner; its gaps share the room that is left."""
    left = max(0.0, room_mm - height_mm(items))
    share = min(1.0, left / (sum(each.stretch_mm for each in items[1:]) or 1.0))
    y = 0.0
    found: list[Part] = []
    for number, item in enumerate(items):
        y += item.gap_mm + share * item.stretch_mm if number else 0.0
        found += (part.moved(0, y) for part in item.strip.parts)
        y += item.strip.height_mm
    return found
