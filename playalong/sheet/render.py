"""A sheet's files: names and bytes of everything on paper that a drill asks for.

sheet.pdf                       every key and string, in the order of practice
sheet.musicxml                  for notation programs; sheet-F-major-D.musicxml where several
sheet.svg                       the same pages for the screen; sheet-1.svg where several
fingerboard.svg                 the string; fingerboard-F-major-D.svg where several
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from playalong.drill.model import Drill
from playalong.engraving.marks import moved
from playalong.engraving.musicxml import musicxml
from playalong.engraving.words import instrument_title, score_title
from playalong.engraving.written_score import write_down
from playalong.errors import PlayalongError
from playalong.folder.names import (
    FINGERBOARD,
    MUSICXML,
    PDF,
    SHEET,
    SVG,
    key_folder,
    string_folder,
)
from playalong.score.model import Score
from playalong.sheet.layout import Part, marks_of
from playalong.sheet.pages import full_title, lay_out
from playalong.sheet.pdf import About, pdf
from playalong.sheet.sizes import Paper, find_paper
from playalong.sheet.string_picture import pictures
from playalong.sheet.svg import svg

FORMATS = ("pdf", "musicxml", "svg")
BOARD_EDGE_MM = 5.0  # paper around a fingerboard picture of its own


class SheetError(PlayalongError):
    """A sheet that cannot be made as asked."""


@dataclass(frozen=True)
class SheetFiles:
    """Names of a sheet's files, in the order of practice, relative to its folder."""

    pdf: str | None
    musicxml: tuple[str, ...]
    svg: tuple[str, ...]
    fingerboards: tuple[str, ...]
    page_count: int

    @property
    def all(self) -> tuple[str, ...]:
        first = (self.pdf,) if self.pdf else ()
        return (*first, *self.musicxml, *self.svg, *self.fingerboards)


def render_sheet(
    drill: Drill, scores: Sequence[Score], *, paper: str = "A4", formats: Sequence[str] = FORMATS
) -> tuple[SheetFiles, dict[str, bytes]]:
    """Names, and every file's bytes. Same input, same bytes.

    `scores` are the drill's keys and strings in the order of practice; their passes become
    repeats. Raises PlayalongError for an unknown paper or format, or a note that no sign can
    write.
    """
    size = find_paper(paper)
    _check(scores, formats)
    names = [f"{SHEET}{suffix}" for suffix in _suffixes(scores)]
    written = [write_down(score) for score in scores]
    sides = lay_out(written, size) if {"pdf", "svg"}.intersection(formats) else []
    document, music, pages, boards = {}, {}, {}, {}
    if "pdf" in formats:
        document = {SHEET + PDF: pdf(sides, size, _about(drill, scores))}
    if "musicxml" in formats:
        music = {
            f"{name}{MUSICXML}": musicxml(each) for name, each in zip(names, written, strict=True)
        }
    if "svg" in formats:
        pages = dict(_svg_pages(drill.title, sides, size))
        boards = dict(_boards(scores, size))
    files = SheetFiles(
        pdf=SHEET + PDF if document else None,
        musicxml=tuple(music),
        svg=tuple(pages),
        fingerboards=tuple(boards),
        page_count=len(sides),
    )
    return files, {**document, **music, **pages, **boards}


def _about(drill: Drill, scores: Sequence[Score]) -> About:
    what = score_title(scores[0]) if len(scores) == 1 else instrument_title(drill)
    return About(drill.title, drill.author, f"A drill to play along with: {what}")


def _check(scores: Sequence[Score], formats: Sequence[str]) -> None:
    unknown = [name for name in formats if name not in FORMATS]
    if unknown:
        known = ", ".join(FORMATS)
        raise SheetError(f'the sheet cannot be made: "{unknown[0]}" is not one of {known}')
    if not scores:
        raise SheetError("the sheet cannot be made: no key to write")


def _suffixes(scores: Sequence[Score]) -> list[str]:
    """What each key and string adds to a name: nothing where there is one only."""
    if len(scores) == 1:
        return [""]
    return [f"-{key_folder(score.key)}-{string_folder(score.string)}" for score in scores]


def _svg_pages(
    title: str, sides: Sequence[Sequence[Part]], paper: Paper
) -> Iterator[tuple[str, bytes]]:
    for number, page in enumerate(sides, 1):
        count = "" if len(sides) == 1 else f"-{number}"
        drawing = svg(marks_of(page), paper.width_mm, paper.height_mm, title)
        yield f"{SHEET}{count}{SVG}", drawing.encode()


def _boards(scores: Sequence[Score], paper: Paper) -> Iterator[tuple[str, bytes]]:
    """The whole picture of each key and string; none where no string is known."""
    for score, suffix in zip(scores, _suffixes(scores), strict=True):
        for picture in pictures(score, paper.room_mm, float("inf")):
            wide, high = paper.room_mm + 2 * BOARD_EDGE_MM, picture.height_mm + 2 * BOARD_EDGE_MM
            marks = moved(marks_of(picture.parts), BOARD_EDGE_MM, BOARD_EDGE_MM)
            yield f"{FINGERBOARD}{suffix}{SVG}", svg(marks, wide, high, full_title(score)).encode()
