"""Marks -> PDF: notes as outlines, words as text with their fonts inside, so that they are found.

The date in the file is fixed: the same sheet gives the same bytes.
"""

from __future__ import annotations

import tempfile
from collections.abc import Sequence
from datetime import UTC, datetime
from itertools import groupby
from pathlib import Path
from typing import Any

from playalong.engraving.fonts import MUSIC, POINT_MM, faces, runs
from playalong.engraving.marks import Ink, Mark, Words
from playalong.sheet.sizes import Paper

DATE = datetime(2000, 1, 1, tzinfo=UTC)


def pdf(pages: Sequence[Sequence[Mark]], paper: Paper, title: str) -> bytes:
    """One document; `pages` are marks from the upper left corner of the paper."""
    import fpdf

    document = fpdf.FPDF(unit="mm", format=(paper.width_mm, paper.height_mm))
    document.set_creation_date(DATE)
    document.set_title(title)
    document.set_lang("en")
    document.set_author("playalong")
    document.set_subject("A drill for playing along, on paper")
    document.set_creator("playalong")
    document.set_auto_page_break(False)
    document.set_margin(0)
    _add_fonts(document)
    for marks in pages:
        document.add_page()
        _inks(document, [mark for mark in marks if isinstance(mark, Ink)])
        for mark in marks:
            if isinstance(mark, Words):
                _words(document, mark)
    return bytes(document.output())


def _add_fonts(document: Any) -> None:
    with tempfile.TemporaryDirectory() as folder:
        for name, face in faces().items():
            file = Path(folder, f"{name}.ttf")
            file.write_bytes(face.file)
            document.add_font(name, fname=str(file))


def _words(document: Any, words: Words) -> None:
    x = words.x
    document.set_text_color(words.colour)
    for run, face in runs(words.text, words.cut):
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
