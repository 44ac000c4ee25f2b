"""write_sheet: everything on paper that a drill asks for, in one call.

sheet.pdf                       every key and string, in the order of practice
sheet.musicxml                  for notation programs; sheet-F-major-D.musicxml where several
sheet.svg, fingerboard.svg      the same pages and picture for the screen
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from playalong.drill.model import Drill
from playalong.engraving.marks import Mark, moved
from playalong.engraving.musicxml import musicxml
from playalong.engraving.sizes import PaperSize, find_paper
from playalong.engraving.words import sheet_title
from playalong.engraving.written import Paper, write_down
from playalong.errors import PlayalongError
from playalong.folder.files import make_folder, write_bytes
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
from playalong.sheet.pages import foot_line, pages
from playalong.sheet.pdf import pdf
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


def write_sheet(
    drill: Drill,
    scores: Sequence[Score],
    out: Path,
    *,
    paper: str = "A4",
    formats: Sequence[str] = FORMATS,
) -> SheetFiles:
    """Write the sheet of a drill into the folder `out`.

    `scores` are its keys and strings in the order of practice; their passes become repeats.
    Raises PlayalongError for an unknown paper or format, a note that no sign can write, or a
    folder that cannot be written to.
    """
    files, contents = render_sheet(drill, scores, paper=paper, formats=formats)
    make_folder(out)
    for name, content in contents.items():
        write_bytes(out / name, content)
    return files


def render_sheet(
    drill: Drill, scores: Sequence[Score], *, paper: str = "A4", formats: Sequence[str] = FORMATS
) -> tuple[SheetFiles, dict[str, bytes]]:
    """What `write_sheet` writes: names, and every file's bytes. Same input, same bytes."""
    size = find_paper(paper)
    unknown = [name for name in formats if name not in FORMATS]
    if unknown or not scores:
        what = (
            f'"{unknown[0]}" is not one of {", ".join(FORMATS)}' if unknown else "no key to write"
        )
        raise SheetError(f"the sheet cannot be made: {what}")
    papers = [write_down(score) for score in scores]
    sheet = lay_out(papers, size) if {"pdf", "svg"}.intersection(formats) else []
    pages = dict(_svg_pages(drill, papers, sheet, size)) if "svg" in formats else {}
    boards = dict(_boards(papers, size)) if "svg" in formats else {}
    music = {}
    if "musicxml" in formats:
        music = {_musicxml_name(papers, each): musicxml(each) for each in papers}
    document = {}
    if "pdf" in formats:
        sides = [page for each in sheet for page in each]
        document = {SHEET + PDF: pdf(sides, size, drill.title)}
    files = SheetFiles(
        pdf=SHEET + PDF if document else None,
        musicxml=tuple(music),
        svg=tuple(pages),
        fingerboards=tuple(boards),
        page_count=sum(map(len, sheet)),
    )
    return files, {**document, **music, **pages, **boards}


def lay_out(papers: Sequence[Paper], size: PaperSize) -> list[list[list[Mark]]]:
    """Pages of marks of every key and string, with their foot lines."""
    found = [pages(paper, size) for paper in papers]
    count, number = sum(map(len, found)), 0
    for paper, sheet in zip(papers, found, strict=True):
        foot = f"{paper.score.drill.title} – {sheet_title(paper.score)}"
        for page in sheet:
            number += 1
            page += foot_line(foot, number, count, size)
    return found


def _suffix(papers: Sequence[Paper], paper: Paper) -> str:
    """Nothing where there is one key and string only, else `-F-major-D`."""
    if len(papers) == 1:
        return ""
    return f"-{key_folder(paper.score.key)}-{string_folder(paper.score.string)}"


def _musicxml_name(papers: Sequence[Paper], paper: Paper) -> str:
    return f"{SHEET}{_suffix(papers, paper)}{MUSICXML}"


def _svg_pages(
    drill: Drill,
    papers: Sequence[Paper],
    sheet: Sequence[Sequence[Sequence[Mark]]],
    size: PaperSize,
) -> Iterator[tuple[str, bytes]]:
    for paper, sides in zip(papers, sheet, strict=True):
        for number, page in enumerate(sides, 1):
            count = "" if len(sides) == 1 else f"-{number}"
            drawing = svg(page, size.width_mm, size.height_mm, drill.title)
            yield f"{SHEET}{_suffix(papers, paper)}{count}{SVG}", drawing.encode()


def _boards(papers: Sequence[Paper], size: PaperSize) -> Iterator[tuple[str, bytes]]:
    """The whole picture of each key and string; none where no string is known."""
    for paper in papers:
        for picture in pictures(paper.score, size.room_mm, float("inf")):
            wide, high = size.room_mm + 2 * BOARD_EDGE_MM, picture.height_mm + 2 * BOARD_EDGE_MM
            title = f"{paper.score.drill.title} – {sheet_title(paper.score)}"
            drawing = svg(moved(picture.marks, BOARD_EDGE_MM, BOARD_EDGE_MM), wide, high, title)
            yield f"{FINGERBOARD}{_suffix(papers, paper)}{SVG}", drawing.encode()
