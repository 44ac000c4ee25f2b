"""README's picture of a sheet shows what the program draws today."""

from __future__ import annotations

import importlib.util
from pathlib import Path

from sheet_svg import read_drawing

PICTURES = Path(__file__).parents[2] / "demo" / "pictures"


def test_the_picture_of_the_readme_is_current() -> None:
    """Words and where they stand, to half a mm: another engraver's release may bend a slur."""
    spec = importlib.util.spec_from_file_location("draw_sheet", PICTURES / "draw_sheet.py")
    draw_sheet = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(draw_sheet)
    kept, fresh = (
        read_drawing(text)
        for text in (draw_sheet.PICTURE.read_text(encoding="utf-8"), draw_sheet.draw())
    )
    message = "draw it again: python demo/pictures/draw_sheet.py"
    assert [text.words for text in kept.texts] == [text.words for text in fresh.texts], message
    for old, new in zip(kept.texts, fresh.texts, strict=True):
        assert max(abs(a - b) for a, b in zip(old.box, new.box, strict=True)) < 0.5, message
