"""What is written around a line of music, and that nothing there covers anything else."""

from __future__ import annotations

from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from sheet_svg import overlapping_texts, read_drawing, struck_texts
from strategies import scores
from written_music import written_score

from playalong.engraving.annotations import annotated
from playalong.engraving.engrave import engrave
from playalong.engraving.marks import Words, around, moved
from playalong.engraving.written_score import WrittenScore, write_down
from playalong.score.explanation import is_half_step
from playalong.sheet.svg import svg

ROOM_MM = 180.0
C_MAJOR = 'strings = ["D"]\nkeys = ["C major"]\n'


def lines(written: WrittenScore, room_mm: float = ROOM_MM):
    """Each system with all its marks."""
    for system in engrave(written, room_mm):
        yield system, annotated(written, system, room_mm)


def words(written: WrittenScore, kind: str) -> list[list[str]]:
    """The words of a kind, line by line, from the left."""
    return [
        [mark.text for mark in sorted(of_kind(marks, kind), key=lambda mark: mark.x)]
        for _, marks in lines(written)
    ]


def of_kind(marks, kind: str) -> list[Words]:
    return [mark for mark in marks if isinstance(mark, Words) and mark.kind == kind]


def test_every_note_and_every_ghost_note_has_its_finger_over_it():
    written = written_score("p1: 1*2 p3: 3*2 0*2 p1: 2*2", C_MAJOR)
    [(system, marks)] = lines(written)
    ghosts = [ghost for bar in written.bars for ghost in bar.ghosts]
    wanted = {f"n{number}": str(note.finger) for number, note in enumerate(written.notes)}
    wanted |= {ghost.id: str(ghost.finger) for ghost in ghosts}
    assert len(ghosts) == 1
    fingers = of_kind(marks, "fingering")
    found = {
        name: mark.text
        for name, head in system.heads.items()
        for mark in fingers
        if mark.box.bottom < head.top and abs(mark.box.middle - head.middle) < 0.6
    }
    assert found == wanted
    assert len(fingers) == len(wanted)


def test_a_bracket_spans_each_half_step_and_no_other_step():
    written = written_score("1 2 3 4 4 3 2 1", C_MAJOR)
    [(system, marks)] = lines(written)
    spans = [(mark.box.left, mark.box.right) for mark in marks if mark.kind == "half-step"]
    middles = [system.heads[f"n{number}"].middle for number in range(len(written.notes))]
    wanted = [
        (middles[number], middles[number + 1])
        for number, (one, two) in enumerate(pairwise(written.notes))
        if is_half_step(one, two)
    ]
    assert len(wanted) == 2
    for span, ends in zip(spans, wanted, strict=True):
        assert span == pytest.approx(ends, abs=0.5)


def test_brackets_of_half_steps_in_a_row_share_one_level():
    written = written_score("1 2 1 2 3 2 1 2", C_MAJOR)  # E F E F G F E F
    [(_, marks)] = lines(written)
    tops = [mark.box.top for mark in marks if mark.kind == "half-step"]
    assert len(tops) == 5
    assert len(set(tops[:3])) == len(set(tops[3:])) == 1


def test_the_number_of_a_tuplet_stands_under_its_notes_apart_from_fingers_and_bows():
    written = written_score("( 1*2/3 2*2/3 3*2/3 ) p3: 1*2/3 2*2/3 3*2/3 r*4", C_MAJOR)
    [(system, marks)] = lines(written)
    numbers = [mark.box for mark in marks if mark.kind == "tupletNum"]
    assert len(numbers) == 2
    for number, notes in zip(numbers, (("n0", "n2"), ("n3", "n5")), strict=True):
        first, last = (system.heads[name] for name in notes)
        assert number.middle == pytest.approx((first.left + last.right) / 2, abs=0.05)
        assert number.top > max(7.0, first.bottom, last.bottom)


@pytest.mark.parametrize(("climb", "ends"), [(1, [1.0]), (4, [1.0, 1.0]), (5, [1.0, 1.0, 0.45])])
def test_a_last_line_of_fewer_bars_is_not_stretched(climb, ends):
    """The right end of each line, as a share of the room."""
    more = f"{C_MAJOR}climb = {list(range(1, climb + 1))}"
    systems = engrave(written_score("1 2 3 4 4 3 2 1", more), ROOM_MM)
    found = [max(right for _, right in system.bars.values()) / ROOM_MM for system in systems]
    assert found == pytest.approx(ends, abs=0.1)


def test_a_string_is_named_where_it_begins_and_in_parentheses_where_it_goes_on():
    told = words(written_score("1 2 3 4 4 3 2 1", C_MAJOR + "climb = 8"), "string")
    assert len(told) > 1
    assert told == [["III"]] + [["(III)"]] * (len(told) - 1)


def test_a_position_is_told_where_it_is_new_and_in_parentheses_where_a_line_begins_in_it():
    written = written_score("p1!: 1 2 3 4 4 3 2 1", C_MAJOR + "climb = [1, 1, 1, 1, 1, 1, 1, 1]")
    told = words(written, "position")
    assert len(told) > 1
    assert told == [["1st position"]] + [["(1st position)"]] * (len(told) - 1)


def test_each_line_but_the_first_begins_with_the_number_of_its_bar():
    written = written_score("1 2 3 4 4 3 2 1", C_MAJOR + "climb = 8")
    first, *others = [min(system.bars) + 1 for system, _ in lines(written)]
    assert first == 1
    assert words(written, "bar-number") == [[], *([str(number)] for number in others)]


def test_a_repeat_tells_its_passes_and_the_way_back():
    written = written_score("p1: 1*4 p3: 1*4", C_MAJOR + "passes = 3")
    assert words(written, "passes") == [["3×"]]
    [told] = words(written, "shift")
    travel = f"{written.notes[1].arrival.told_mm:.0f} mm"
    assert sorted(told) == sorted(["same finger", travel, "back: same finger", travel])


def test_a_bar_that_repeats_another_an_octave_apart_is_named_at_its_left_end():
    more = 'climb = [1, 8]\nkeys = ["G major"]\nstrings = ["D"]'
    written = written_score("1 2 3 4 4 3 2 1", more)
    [(system, marks)] = lines(written)
    [twin] = of_kind(marks, "twin")
    assert twin.text == "bar 2: as bar 1, an octave higher"
    assert twin.x == pytest.approx(system.bars[1][0], abs=8.0)


@settings(max_examples=30)
@given(scores(), st.sampled_from((90.0, 180.0, 230.0)))
def test_no_words_of_any_drill_touch_words_or_notes_at_any_width(score, room_mm):
    for _, marks in lines(write_down(score), room_mm):
        box = around(mark.box for mark in marks)
        text = svg(moved(marks, -box.left, -box.top), box.width, box.height, "line")
        drawing = read_drawing(text)
        assert overlapping_texts(drawing) == []
        assert struck_texts(drawing, allowed=frozenset()) == []
