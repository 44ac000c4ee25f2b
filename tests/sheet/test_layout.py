"""How strips are laid on pages: in order, within the paper, and without waste."""

from __future__ import annotations

from itertools import chain, pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from playalong.engraving.marks import line
from playalong.sheet.layout import (
    FIGURE,
    HALF,
    Item,
    Part,
    Strip,
    best_pages,
    height_mm,
    marks_of,
    placed,
)

ROOM_MM = 250.0
GAP_MM = 5.0


def item(high_mm: float, break_cost: float = 0.0, stretch_mm: float = 8.0) -> Item:
    ink = line((0, 0), (0, high_mm), width=0.0)
    return Item(Strip((Part(FIGURE, (ink,)),), high_mm), "", GAP_MM, stretch_mm, break_cost)


items = st.builds(
    item, st.floats(5.0, ROOM_MM), st.sampled_from((0.0, 0.2, 1.5)), st.sampled_from((6.0, 20.0))
)


@given(st.lists(items, min_size=1, max_size=30))
def test_every_strip_stands_once_in_order_and_no_page_overflows(strips):
    pages = best_pages(strips, ROOM_MM).pages
    assert list(chain.from_iterable(pages)) == strips
    for page in pages:
        marks = marks_of(placed(page, ROOM_MM))
        assert max(mark.box.bottom for mark in marks) <= ROOM_MM + 0.02
        gaps = [low.box.top - high.box.bottom for high, low in pairwise(marks)]
        assert all(gap >= GAP_MM - 1e-6 for gap in gaps)


@given(st.lists(items, min_size=1, max_size=30))
def test_no_page_is_less_than_half_used_where_more_could_stand_on_it(strips):
    """Only a strip that is larger than what is left may leave a page less than half used."""
    pages = best_pages(strips, ROOM_MM).pages
    for page, after in pairwise(pages):
        if height_mm(page) < HALF * ROOM_MM:
            assert height_mm((*page, after[0])) > ROOM_MM


@given(st.lists(st.floats(5.0, ROOM_MM), min_size=1, max_size=30))
def test_where_breaks_cost_nothing_there_are_as_few_pages_as_filling_one_by_one(heights):
    strips = [item(height) for height in heights]
    count, used = 0, ROOM_MM
    for height in heights:
        used += GAP_MM + height
        if used > ROOM_MM:
            count, used = count + 1, height
    assert len(best_pages(strips, ROOM_MM).pages) <= count + 1  # one more may fill them evenly


def test_what_belongs_together_stays_together_where_that_leaves_no_page_half_empty():
    title, one, two = item(40), [item(100), item(40, 1.5)], [item(70), item(70, 1.5)]
    assert best_pages([title, *one, *two], ROOM_MM).pages == ((title, *one), tuple(two))


def test_a_page_that_would_be_half_empty_takes_a_part_of_what_comes_next():
    title, long = item(60), [item(120), item(120, 1.5)]
    assert best_pages([title, *long], ROOM_MM).pages == ((title, long[0]), (long[1],))


def test_a_last_page_is_not_three_quarters_blank_where_more_can_stand_on_it():
    music, picture, footer = item(150), item(70, 1.5), item(40)
    assert best_pages([music, picture, footer], ROOM_MM).pages == ((music,), (picture, footer))


def test_gaps_share_what_room_is_left_each_up_to_its_own_most():
    page = [item(50), item(50), item(50, stretch_mm=16.0)]

    def gaps(room_mm: float) -> list[float]:
        marks = marks_of(placed(page, room_mm))
        return [low.box.top - high.box.bottom for high, low in pairwise(marks)]

    assert gaps(160) == pytest.approx([5, 5])
    assert gaps(172) == pytest.approx([5 + 4, 5 + 8])
    assert gaps(300) == pytest.approx([5 + 8, 5 + 16])
