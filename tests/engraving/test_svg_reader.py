"""The engraver's drawing, read as marks."""

from __future__ import annotations

import pytest

from playalong.engraving.marks import Box, Ink, Words
from playalong.engraving.svg_reader import EngraveError, drawn

PAGE = """<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink">
<defs><g id="sign"><path d="M0 0 L100 0 L100 50 L0 50 Z"/></g></defs>
<svg><g class="system" id="s1">{}</g></svg></svg>"""


def test_a_sign_comes_out_in_mm_where_it_is_used_and_y_goes_down():
    """100 by 50 units, y upwards, at 1000, 2000 and half its size; 0.01 mm a unit."""
    use = '<use xlink:href="#sign" transform="translate(1000, 2000) scale(0.5, 0.5)"/>'
    [mark] = drawn(PAGE.format(f'<g class="note" id="n0">{use}</g>'), 0.01)
    assert isinstance(mark.mark, Ink)
    assert mark.mark.box == Box(10.0, 19.75, 10.5, 20.0)
    assert (mark.classes, mark.ids) == (("system", "note"), ("s1", "n0"))


def test_text_stands_with_its_middle_where_the_engraver_put_it():
    span = '<tspan font-size="300px">3</tspan>'
    text = f'<text x="500" y="100" text-anchor="middle">{span}</text>'
    [mark] = drawn(PAGE.format(f'<g class="tupletNum">{text}</g>'), 0.01)
    assert isinstance(mark.mark, Words)
    assert (mark.mark.text, mark.mark.y) == ("3", 1.0)
    assert mark.mark.x + mark.mark.width / 2 == pytest.approx(5.0)


def test_words_that_are_set_around_the_music_are_left_out():
    assert list(drawn(PAGE.format('<g class="dir"><rect width="10" height="10"/></g>'), 0.01)) == []


def test_a_sign_without_a_spot_is_refused():
    use = '<use xlink:href="#sign" transform="rotate(90)"/>'
    with pytest.raises(EngraveError, match=r'put a sign at "rotate\(90\)", which is no spot'):
        list(drawn(PAGE.format(use), 0.01))
