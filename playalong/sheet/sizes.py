"""Sizes of the printed sheet, in mm: papers, margins and the letters beside the music."""

from __future__ import annotations

from dataclasses import dataclass

from playalong.engraving.fonts import POINT_MM
from playalong.errors import PlayalongError, nearest

FOOT_MM = 6.0  # the line with the page's number
MARGIN_MM = 15.0  # what office printers leave, and room for a thumb
TITLE_MM, NAME_MM, TEXT_MM = (points * POINT_MM for points in (18, 12, 9))


@dataclass(frozen=True)
class Paper:
    """A sheet of paper."""

    name: str
    width_mm: float
    height_mm: float

    @property
    def room_mm(self) -> float:
        """Between the side margins."""
        return self.width_mm - 2 * MARGIN_MM


PAPERS = {
    paper.name.lower(): paper
    for paper in (Paper("A4", 210.0, 297.0), Paper("Letter", 215.9, 279.4))
}


class PaperError(PlayalongError):
    """A paper that the sheet is not laid out for."""


def find_paper(name: str) -> Paper:
    """`A4` or `Letter`, in any case."""
    try:
        return PAPERS[name.strip().lower()]
    except KeyError:
        hint = nearest(name, [paper.name for paper in PAPERS.values()])
        raise PaperError(f'"{name}" is not a paper known here{hint}') from None
