"""What stands on the pages: systems, their breaks, and the heading's note of a beat."""

from __future__ import annotations

from functools import cache

import pytest
from playing import drill_of
from sheet_svg import Drawing, read_drawing
from sheets import scores_of

from playalong.sheet.render import render_sheet


def drawings(bar: str, more: str) -> list[Drawing]:
    drill = drill_of(bar, more)
    files, contents = render_sheet(drill, scores_of(drill), formats=("svg",))
    return [read_drawing(contents[name].decode()) for name in files.svg]


def test_seventy_two_bars_break_into_systems_and_pages():
    bar = "p1: 1 2 3 1 p3: 1 2 p1: 2 1"
    pages = drawings(f"{bar} | {bar}", "climb = [" + "1, 2, 3, 4, 5, 6, " * 6 + "]")
    assert 3 <= len(pages) <= 8
    texts = [text for page in pages for text in page.texts]
    numbers = [int(text.words) for text in texts if text.kind == "bar-number"]
    assert numbers == sorted(set(numbers))
    assert 60 < numbers[-1] <= 71  # never a single bar on the last line


@cache
def beat_signs(meter: str, bar: str) -> list[tuple[tuple[float, float], ...]]:
    """Outlines of the note of a beat, and of its dot."""
    [page] = drawings(bar, f'meter = "{meter}"')
    return [stroke.points for stroke in page.strokes if stroke.kind == "beat"]


@pytest.mark.parametrize(
    ("meter", "bar", "plain"),
    [("6/8", "1*6", ("4/4", "1*8")), ("6/16", "1*3", ("3/8", "1*3"))],
)
def test_the_note_of_a_compound_beat_is_the_plain_one_with_a_dot(meter, bar, plain):
    note, dot = beat_signs(meter, bar)
    assert [note] == beat_signs(*plain)
    assert dot != note


def test_each_plain_beat_has_a_note_of_its_own():
    plain = (("2/2", "1*8"), ("4/4", "1*8"), ("3/8", "1*3"), ("3/16", "1*3/2"))
    signs = [sign for each in plain for sign in beat_signs(*each)]
    assert len(signs) == len(set(signs)) == 4
