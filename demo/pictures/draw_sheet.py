"""Draws the README's picture of a sheet: the music and the fingerboard of one demo drill.

    python demo/pictures/draw_sheet.py

What stands around them on paper (stages, cautions, page number) is left out.
"""

from __future__ import annotations

from pathlib import Path

from playalong.drill.load import load
from playalong.engraving.marks import around, moved
from playalong.engraving.written_score import write_down
from playalong.score.writing import write
from playalong.sheet.layout import marks_of
from playalong.sheet.pages import lay_out
from playalong.sheet.sizes import find_paper
from playalong.sheet.svg import svg

HERE = Path(__file__).parent
DRILL = HERE.parent / "04-old-finger-leads.toml"
PICTURE = HERE / "a-sheet.svg"
EDGE_MM = 5.0
LEFT_OUT = {"rule", "heading", "footer", "foot"}


def draw() -> str:
    """The picture as SVG text."""
    drill = load(DRILL)
    score = write(drill, drill.keys[0], "D")
    [page] = lay_out([write_down(score)], find_paper("A4"))
    marks = [mark for mark in marks_of(page) if mark.kind not in LEFT_OUT]
    box = around(mark.box for mark in marks)
    shown = moved(marks, EDGE_MM - box.left, EDGE_MM - box.top)
    return svg(shown, box.width + 2 * EDGE_MM, box.height + 2 * EDGE_MM, drill.title)


if __name__ == "__main__":
    PICTURE.write_text(draw(), encoding="utf-8")
