"""Parts -> PDF: notes as outlines, words as text with their fonts inside, so that they are found.

The document is tagged (ISO 32000-1, 14.7 and 14.8), so that it can be listened to in order:
headings and paragraphs by their text, each line of music and each picture by what it says in
words, with its place. The date in the file is fixed: the same sheet gives the same bytes.
"""

from __future__ import annotations

import tempfile
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from itertools import groupby
from pathlib import Path
from typing import Any

from playalong.engraving.fonts import MUSIC, POINT_MM, faces, runs
from playalong.engraving.marks import Ink, Words, around
from playalong.sheet.layout import ARTIFACT, FIGURE, HEADING, TITLE, Part
from playalong.sheet.sizes import Paper

DATE = datetime(2000, 1, 1, tzinfo=UTC)


@dataclass(frozen=True)
class About:
    """What the document says of itself."""

    title: str
    author: str  # empty where the drill does not say
    subject: str


def pdf(pages: Sequence[Sequence[Part]], paper: Paper, about: About) -> bytes:
    """One document; `pages` are parts from the upper left corner of the paper."""
    import fpdf
    from fpdf.prefs import ViewerPreferences

    document = fpdf.FPDF(unit="mm", format=(paper.width_mm, paper.height_mm))
    document.set_creation_date(DATE)
    document.set_title(about.title)
    document.viewer_preferences = ViewerPreferences(display_doc_title=True)
    document.set_lang("en")
    if about.author:
        document.set_author(about.author)
    document.set_subject(about.subject)
    document.set_creator("playalong")
    document.set_auto_page_break(False)
    document.set_margin(0)
    _add_fonts(document)
    for parts in pages:
        document.add_page()
        for part in parts:
            _part(document, part)
    return bytes(document.output())


def _part(document: Any, part: Part) -> None:
    inks = [mark for mark in part.marks if isinstance(mark, Ink)]
    words = [mark for mark in part.marks if isinstance(mark, Words)]
    if part.role in (TITLE, HEADING):
        document.set_y(part.marks[0].box.top)
        document.start_section(" ".join(each.text for each in words), level=part.role == HEADING)
    with _tagged(document, part):
        if inks:
            _inks(document, inks)
        for each in words[:-1]:
            _words(document, each, end=" ")  # or the next line would be read as the same word
        for each in words[-1:]:
            _words(document, each)


@contextmanager
def _tagged(document: Any, part: Part) -> Iterator[None]:
    """What is drawn inside is one element of the document's structure, or an artifact.

    fpdf2 keeps the structure and writes it, but lets a caller tag images and links alone.
    """
    if part.role == ARTIFACT:
        document._out("/Artifact BMC")
    else:
        builder = document.struct_builder
        number = builder.next_mcid_for_page(document.page)
        element, document.pages[document.page].struct_parents = builder.add_marked_content(
            page_number=document.page,
            struct_type=f"/{part.role}",
            mcid=number,
            alt_text=part.told if part.role == FIGURE else None,
        )
        if part.role == FIGURE:
            element.a = _place(document, part)
        document._out(f"/{part.role} <</MCID {number}>> BDC")
    read_as = part.role != FIGURE and part.told
    if read_as:
        document._out(f"/Span <</ActualText {_utf16(part.told)}>> BDC")
    yield
    document._out("EMC\nEMC" if read_as else "EMC")


def _place(document: Any, part: Part) -> str:
    """Where a figure stands on its page, in points from the lower left corner.

    ISO 14289-1, 7.3, asks it of every figure; ISO 32000-1, table 344, says how.
    """
    box = around(mark.box for mark in part.marks)
    left, right = (x / POINT_MM for x in (box.left, box.right))
    low, high = ((document.h - y) / POINT_MM for y in (box.bottom, box.top))
    return f"<</O /Layout /BBox [{left:.2f} {low:.2f} {right:.2f} {high:.2f}]>>"


def _utf16(text: str) -> str:
    return f"<feff{text.encode('utf-16-be').hex()}>"


def _add_fonts(document: Any) -> None:
    with tempfile.TemporaryDirectory() as folder:
        for name, face in faces().items():
            file = Path(folder, f"{name}.ttf")
            file.write_bytes(face.file)
            document.add_font(name, fname=str(file))


def _words(document: Any, words: Words, end: str = "") -> None:
    x = words.x
    document.set_text_color(words.colour)
    for run, face in runs(words.text + end, words.cut):
        document.set_font(face if face == MUSIC else words.cut, size=words.size_mm / POINT_MM)
        document.text(x, words.y, run)
        x += words.size_mm * sum(faces()[face].width_em(character) for character in run)


def _inks(document: Any, inks: Sequence[Ink]) -> None:
    """Outlines one by one, as they may overlap; lines of one width together."""
    from fpdf.drawing import PaintedPath
    from fpdf.enums import PathPaintRule

    with document.drawing_context() as context:
        for (colour, width), group in groupby(inks, key=lambda ink: (ink.colour, ink.line_mm)):
            alike = list(group)
            together = [alike] if width else [[ink] for ink in alike]
            for drawn in together:
                path = PaintedPath()
                path.style.auto_close = False
                if width:
                    path.style.paint_rule = PathPaintRule.STROKE
                    path.style.stroke_width = width
                    path.style.stroke_color = colour
                else:
                    path.style.paint_rule = PathPaintRule.FILL_NONZERO
                    path.style.fill_color = colour
                for ink in drawn:
                    _draw(path, ink)
                context.add_item(path, clone=False)


def _draw(path: Any, ink: Ink) -> None:
    for name, points in ink.commands:
        if name == "moveTo":
            path.move_to(*points[0])
        elif name == "lineTo":
            path.line_to(*points[0])
        elif name == "curveTo":
            path.curve_to(*(value for point in points for value in point))
        elif name == "closePath":
            path.close()
        elif name == "qCurveTo":
            path.quadratic_curve_to(*(value for point in points for value in point))
