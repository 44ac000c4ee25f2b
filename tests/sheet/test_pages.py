"""What stands on the pages: systems, their breaks, and the heading's note of a beat."""

from __future__ import annotations

import json
from functools import cache
from itertools import pairwise

import pytest
from playing import drill_of
from sheet_svg import Drawing, read_drawing
from sheets import NEW_KEYS, scores_of

from playalong.drill.load import load
from playalong.drill.model import Drill
from playalong.sheet.render import render_sheet


def drawings(bar: str, more: str) -> list[Drawing]:
    return drawings_of(drill_of(bar, more))


def drawings_of(drill: Drill) -> list[Drawing]:
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


def staff_mm(drawing: Drawing) -> float:
    """From the lowest to the highest of five lines."""
    levels = sorted({round(s.box[1], 3) for s in drawing.strokes if s.kind == "staff"})
    return 4 * min(low - high for high, low in pairwise(levels))


def test_a_short_drill_has_staves_of_eight_millimetres_with_its_picture_on_the_same_page():
    """Printed parts have about 7 mm (common practice); on a stand larger is better read."""
    [page] = drawings("p1: 1 2 3 1 p3: 1 2 p1: 2 1", "climb = 3")
    assert staff_mm(page) == pytest.approx(8.0, abs=0.05)
    assert "Where the fingers stand" in [text.words for text in page.texts]


def test_staves_are_smaller_where_that_keeps_a_section_on_one_page():
    drill = load(NEW_KEYS)
    pages = drawings_of(drill)
    assert len(pages) == 6
    assert 7.0 <= staff_mm(pages[0]) < 8.0
    starts = [[text.words for text in page.texts if text.kind == "key"] for page in pages]
    assert [len(names) for names in starts] == [2, 2, 2, 2, 2, 1]  # the first is the instrument


@pytest.mark.parametrize(
    ("keys", "told"),
    [
        (["Db major", "Bb minor"], ["D♭ major and B♭ minor"]),
        (["C major", "G major", "A minor"], ["C major and A minor", "G major"]),
        (["C major", "A harmonic minor"], ["C major", "A harmonic minor"]),  # G, and G sharp
    ],
)
def test_keys_with_the_same_notes_share_their_music(keys, told):
    """check: relative keys have the signature in common (music theory, any primer)."""
    pages = drawings("1 2 3 4 4 3 2 1", f'keys = {json.dumps(keys)}\nstrings = ["D"]')
    words = " ".join(text.words for page in pages for text in page.texts if text.kind == "key")
    assert [words.count(name) for name in told] == [1] * len(told)
    assert words.count("D string") == len(told)


def test_keys_that_are_tuned_apart_do_not_share_their_music():
    """In just intonation each key has places of its own."""
    more = 'keys = ["C major", "A minor"]\nstrings = ["G"]\ntuning = { temperament = "just" }'
    pages = drawings("1 2 3 4 4 3 2 1", more)
    names = [text.words for page in pages for text in page.texts if text.kind == "key"]
    assert names == ["Violin", "G string (IV), C major", "G string (IV), A minor"]


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
