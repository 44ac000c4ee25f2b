"""Nothing on a sheet covers anything else, and nothing leaves the paper.

Boxes are taken from the SVG itself, from the outlines of its letters (sheet_svg).
"""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from playing import drill_of
from sheet_svg import outside, overlapping_texts, read_drawing, struck_signs, struck_texts
from strategies import scores

from playalong.drill.load import load
from playalong.engraving.marks import Words, line
from playalong.engraving.written_score import write_down
from playalong.score.writing import write
from playalong.sheet.layout import marks_of
from playalong.sheet.pages import lay_out
from playalong.sheet.sizes import PAPERS
from playalong.sheet.string_picture import pictures
from playalong.sheet.svg import svg
from playalong.shipped import demo_folder

# A finger's number stands on its disc, and the disc on the string.
BENEATH_FINGERS = frozenset({"stand", "board-string", "board-stem", "tick"})
EDGE_MM = 10.0  # what every printer leaves
HIGH = 'climb = [1, 5, 9, 12]\nstrings = ["E"]\nkeys = ["C# major"]'

DRILLS = {
    "high on the E string": ("p1: ( 1 2 3 4 ) p2: 3 2 ~1 1", HIGH, "violin"),
    "accidentals against the key": ("1 2# 2b 2n 3# 3 ( 4b 4 )", 'keys = ["F# major"]', "viola"),
    "6/8": ("p1: 1 2 3 p3: ( 1 2 ) 3", 'meter = "6/8"\nclimb = 6', "viola"),
    "3/4": ("p1: 1 p3: 1 2 | p1: 1*2 r", 'meter = "3/4"\nnote = "quarter"\nclimb = 5', "violin"),
    "5/4": ("p1: 1 r p4: 3 1 p1: 2", 'meter = "5/4"\nnote = "quarter"\nclimb = 4', "viola"),
    "sixteenths with ghost notes": (
        "p1: 1 p3: 3 2 p1: 4 1 p2: 3 1 p4: 4 1 2 p1: 4 1 p5: 1 p1: 1 2 p3: 4",
        'note = "sixteenth"\nclimb = 3',
        "violin",
    ),
    "slurs across strings": (
        "( G: p1: 2 3 p3: D: 1 2 ) | ( 2 1 G: p1: 3 2 )",
        'note = "quarter"\nclimb = 3',
        "viola",
    ),
    "lengths by *": ("1*3/2 2*1/2 p2: 1*2 ~2*1/2 3*1/2 r 1 1", "climb = 3", "viola"),
    "triplets": ("1*2/3 2*2/3 3*2/3 p2: 1 2 r*4", "", "viola"),
    "slurred triplets": (
        "( 1*2/3 2*2/3 3*2/3 ) p3: ( 1*2/3 r*2/3 3*2/3 ) p1: 1*2/3 2*2/3 3*2/3 r*2",
        "climb = 4",
        "violin",
    ),
    "clefs that change": (
        "C: p1: 1 2 3 4 | A: p7: 1 p8: 2 3 4",
        'note = "quarter"\nclimb = 3',
        "viola",
    ),
    "octave signs": ("p6: 1 2 p9: ( 3 4 ) 4 3 p7: 1 2", 'strings = ["E"]\nclimb = 6', "violin"),
    "courtesy accidentals": (
        "1# 2 3# 2 | 1 2 3 r | 2# 3 r 2",
        'note = "quarter"\nclimb = 3',
        "viola",
    ),
    "grace notes on every string": (
        "G: g:0 D: p1: g:1 A: g:2 E: 2*2 r*2 | G: g:1 D: g:1 A: g:1 E: 1*4",
        'note = "quarter"',
        "violin",
    ),
    "half steps in a row": ("1 1# 2 2# 3 3# 4 4", 'keys = ["C major"]\nclimb = 3', "violin"),
    "a long drill": (
        "p1: 1 2 3 1 p3: 1 2 p1: 2 1",
        "climb = [" + "1, 2, 3, 4, " * 8 + "1]",  # three pages
        "viola",
    ),
    "six passes with bars of click": ("p1: 1*4 p5: 1*4", "passes = 6\ngap = 2\nclimb = 4", "viola"),
    "a long ladder": ("1*8", "tempo = { start = 20, goal = 208 }", "viola"),
    "cello": (
        "A3 ~C4 E4 ~C4 | G4 ~E4 D4 ~A3",
        'note = "quarter"\nclimb = 8\nstrings = ["A"]',
        "cello",
    ),
    "bass": ("A3 ~B3 D4*2", 'note = "quarter"\nclimb = 3\nstrings = ["G"]', "bass"),
    "tenor": ("C4 D4 E4 ~G4", 'note = "quarter"\nclimb = 3', "tenor"),
}


def drawings(scores, paper: str):
    size = PAPERS[paper]
    for page in lay_out([write_down(score) for score in scores], size):
        yield read_drawing(svg(marks_of(page), size.width_mm, size.height_mm, "sheet"))


def check(*scores, paper: str = "a4", slurs: bool = True) -> None:
    """`slurs`: whether what the engraver bends around accidentals is held to it too."""
    for drawing in drawings(scores, paper):
        assert overlapping_texts(drawing) == []
        assert struck_texts(drawing, allowed=BENEATH_FINGERS) == []
        assert not slurs or struck_signs(drawing) == []
        assert outside(drawing, EDGE_MM) == []


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("name", DRILLS)
def test_no_words_touch_words_or_notes_and_all_stay_on_the_paper(name, paper):
    bar, more, instrument = DRILLS[name]
    check(write(drill_of(bar, more, instrument=instrument)), paper=paper)


@pytest.mark.parametrize("path", sorted(demo_folder().glob("*.toml")), ids=lambda path: path.stem)
def test_the_demo_drills_are_free_of_collisions(path):
    drill = load(path)
    check(*(write(drill, *pair) for pair in drill.pairs))


@settings(max_examples=30)
@given(scores())
def test_the_words_of_any_drill_are_free_of_collisions(score):
    """A slur may graze the box of an accidental: that is the engraver's, and rare."""
    check(score, slurs=False)


@settings(max_examples=30)
@given(scores())
def test_no_fingerboard_picture_covers_itself(score):
    for picture in pictures(score, 180.0, float("inf")):
        drawing = read_drawing(svg(marks_of(picture.parts), 180.0, picture.height_mm, "string"))
        assert overlapping_texts(drawing) == []
        assert struck_texts(drawing, allowed=BENEATH_FINGERS) == []


def test_the_check_itself_finds_words_that_overlap():
    marks = [Words(10, 10, "first", 3.0), Words(14, 10.5, "second", 3.0)]
    marks.append(line((0, 9.0), (30, 9.0), width=0.2, kind="stroke"))
    drawing = read_drawing(svg(marks, 30, 20, "t"))
    assert overlapping_texts(drawing) == [("first", "second")]
    assert struck_texts(drawing, allowed=frozenset()) == [("first", "stroke"), ("second", "stroke")]
    assert outside(drawing, 9.5) != []
