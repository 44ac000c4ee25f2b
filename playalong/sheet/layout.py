"""Strips -> pages: what goes on which page, from the top down."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from playalong.engraving.marks import Mark, around, moved

SYSTEM_GAP_MM, WIDEST_GAP_MM = 5.0, 11.0
STRIP_GAP_MM = 6.0


@dataclass(frozen=True)
class Strip:
    """What stands together across a page: marks from 0, 0, and the height that they take."""

    marks: tuple[Mark, ...]
    height_mm: float

    @classmethod
    def of(cls, marks: Sequence[Mark]) -> Strip:
        """As high as its ink."""
        box = around(mark.box for mark in marks)
        return cls(tuple(moved(marks, 0, -box.top)), box.height)


def filled_pages(
    heading: Strip, systems: Sequence[Strip], boards: Sequence[Strip], footer: Strip, room_mm: float
) -> list[list[Mark]]:
    """Heading, systems and pictures from the top down; the footer at the end of the music."""
    pages = [_Page(room_mm)]
    pages[0].put(heading, 0.0)
    for number, system in enumerate(systems):
        gap = SYSTEM_GAP_MM if number else STRIP_GAP_MM
        if not pages[-1].has_room(system, gap):
            pages.append(_Page(room_mm))
        pages[-1].put(system, gap, stretches=True)
    below = sum(board.height_mm + STRIP_GAP_MM for board in boards)
    together = replace(footer, height_mm=footer.height_mm + below)
    end_of_music = pages[-1]
    if boards and not end_of_music.has_room(together, STRIP_GAP_MM):
        pages.append(_Page(room_mm))
    for board in boards:
        if not pages[-1].has_room(board, STRIP_GAP_MM):
            pages.append(_Page(room_mm))
        pages[-1].put(board, STRIP_GAP_MM)
    for page in (end_of_music, pages[-1], _Page(room_mm)):
        if page.has_room(footer, STRIP_GAP_MM):
            page.footer = footer
            pages += [] if page in pages else [page]
            break
    return [page.marks() for page in pages]


class _Page:
    """Strips on one page; what room is left goes between the systems."""

    def __init__(self, room_mm: float) -> None:
        self.room_mm = room_mm
        self.taken_mm = 0.0
        self.strips: list[tuple[Strip, float, bool]] = []
        self.footer: Strip | None = None

    def has_room(self, strip: Strip, gap: float) -> bool:
        return not self.strips or self.taken_mm + gap + strip.height_mm <= self.room_mm

    def put(self, strip: Strip, gap: float, *, stretches: bool = False) -> None:
        gap = gap if self.strips else 0.0
        self.strips.append((strip, gap, stretches))
        self.taken_mm += gap + strip.height_mm

    def marks(self) -> list[Mark]:
        left = self.room_mm - self.taken_mm
        if self.footer:
            left -= self.footer.height_mm + STRIP_GAP_MM
        count = max(1, sum(stretches for _, _, stretches in self.strips))
        more = max(0.0, min(left / count, WIDEST_GAP_MM - SYSTEM_GAP_MM))
        y, found = 0.0, []
        for strip, gap, stretches in self.strips:
            y += gap + (more if stretches and gap else 0.0)
            found += moved(strip.marks, 0, y)
            y += strip.height_mm
        if self.footer:
            found += moved(self.footer.marks, 0, self.room_mm - self.footer.height_mm)
        return found
