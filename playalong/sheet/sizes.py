"""Sizes of the sheet, in mm: papers, margins, the staff, and letters."""

from __future__ import annotations

from dataclasses import dataclass

from playalong.engraving.fonts import POINT_MM
from playalong.errors import PlayalongError, nearest


@dataclass(frozen=True)
class PaperSize:
    name: str
    width_mm: float
    height_mm: float

    @property
    def room_mm(self) -> float:
        """Between the side margins."""
        return self.width_mm - 2 * MARGIN_MM


MARGIN_MM = 15.0  # what office printers leave, and room for a thumb
PAPERS = {
    paper.name.lower(): paper
    for paper in (PaperSize("A4", 210.0, 297.0), PaperSize("Letter", 215.9, 279.4))
}
STAFF_MM = 7.0  # from the lowest to the highest line, as in printed parts
TITLE_MM, NAME_MM, TEXT_MM, SMALL_MM = (points * POINT_MM for points in (18, 12, 9, 8))
LINE_SPACING = 1.25


class PaperError(PlayalongError):
    """A paper that the sheet is not laid out for."""


def find_paper(name: str) -> PaperSize:
    """`A4` or `Letter`, in any case."""
    try:
        return PAPERS[name.strip().lower()]
    except KeyError:
        hint = nearest(name, [paper.name for paper in PAPERS.values()])
        raise PaperError(f'"{name}" is not a paper known here{hint}') from None
