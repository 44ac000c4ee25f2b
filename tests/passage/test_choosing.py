"""Parts and bars are found as a person calls them."""

from __future__ import annotations

import pytest
from small_scores import attributes, bar, line, numbered, score

from playalong.passage.choosing import choose_bars, choose_part
from playalong.passage.model import Part, PartName, PassageError, ScoreBar
from playalong.passage.reading import all_parts

NAMES = (
    PartName(1, "P1", "Violin I"),
    PartName(2, "P2", "Violin II"),
    PartName(3, "P3", "Viola"),
)


def part(*bars: str) -> Part:
    (found,) = all_parts(score(*bars).encode())
    return found


def called(bars: tuple[ScoreBar, ...]) -> list[str]:
    return [each.number for each in bars]


WHOLE = line("A4 A4 A4 A4")
ENDINGS = part(
    bar(attributes() + WHOLE, 11), bar(WHOLE, 12), bar(line("B4 B4 B4 B4"), 12), bar(WHOLE, 13)
)


@pytest.mark.parametrize(
    ("asked", "number"), [("Viola", 3), ("violin ii", 2), ("1", 1), ("VIOLA", 3)]
)
def test_a_part_is_found_by_name_or_number(asked: str, number: int) -> None:
    assert choose_part(NAMES, asked).number == number


def test_the_only_part_need_not_be_named() -> None:
    assert choose_part(NAMES[:1], None) is NAMES[0]


def test_a_part_that_is_not_said_or_not_there_is_answered_with_the_list() -> None:
    with pytest.raises(PassageError, match="3 parts; say which with --part: 1 Violin I, 2 Violin"):
        choose_part(NAMES, None)
    with pytest.raises(PassageError, match='no part is called "oboe"; the parts are 1 Violin I'):
        choose_part(NAMES, "oboe")
    with pytest.raises(PassageError, match='several parts are called "violin"'):
        choose_part(NAMES, "violin")


def test_a_score_without_parts_is_told_as_that() -> None:
    with pytest.raises(PassageError, match="no part with notes in it"):
        choose_part((), None)


def test_bars_go_by_their_printed_numbers() -> None:
    assert called(choose_bars(ENDINGS, "11-12")) == ["11", "12"]
    assert called(choose_bars(ENDINGS, "13")) == ["13"]


def test_a_second_ending_is_told_apart() -> None:
    (first,), (second,) = choose_bars(ENDINGS, "12"), choose_bars(ENDINGS, "12.2")
    heads = [found.notes[0].pitch for found in (first, second)]
    assert [str(pitch) for pitch in heads] == ["A4", "B4"]
    assert called(choose_bars(ENDINGS, "12.2-13")) == ["12", "13"]


def ending(which: int, more: str = "") -> str:
    return f'<barline><ending number="{which}" type="start"/></barline>{more}'


BACK = '<barline><repeat direction="backward"/><ending number="1" type="stop"/></barline>'
COUNTED_ON = part(  # of which the first ending has bars 12 and 13, the second 14 and 15
    bar(attributes() + WHOLE, 11),
    bar(ending(1, WHOLE), 12),
    bar(WHOLE + BACK, 13),
    bar(ending(2, WHOLE), 14),
    bar(WHOLE, 15),
)


@pytest.mark.parametrize(
    ("asked", "found"),
    [
        ("12.2", ["14"]),
        ("13.2", ["15"]),
        ("11-13", ["11", "12", "13"]),
        ("11-12.2", ["11", "14"]),
        ("11-13.2", ["11", "14", "15"]),
        ("11-15", ["11", "12", "13", "14", "15"]),
        ("13-12.2", ["13", "14"]),
    ],
)
def test_a_second_ending_that_counts_on_stands_for_the_first(asked: str, found: list[str]) -> None:
    bars = choose_bars(COUNTED_ON, asked)
    assert called(bars) == found
    left_out = [each.number for each in bars if each.told]
    assert left_out == (["14"] if asked in ("11-12.2", "11-13.2") else [])


def test_a_range_leaves_out_a_first_ending_of_the_same_number() -> None:
    endings = part(
        bar(attributes() + WHOLE, 11),
        bar(ending(1, WHOLE) + BACK, 12),
        bar(ending(2, line("B4 B4 B4 B4")), 12),
    )
    before, second = choose_bars(endings, "11-12.2")
    assert (before.number, second.number) == ("11", "12")
    assert second.notes[0].pitch is not None
    assert second.notes[0].pitch.name == "B4"
    with pytest.raises(PassageError, match=r'"12\.3": 2 bars are called 12'):
        choose_bars(endings, "12.3")


def test_two_short_endings_are_not_the_halves_of_one_bar() -> None:
    half = line("A4 A4")
    endings = part(
        bar(attributes() + half, 0), bar(ending(1, half) + BACK, 12), bar(ending(2, half), 12)
    )
    assert called(choose_bars(endings, None)[1:]) == ["12", "12"]


def test_the_tempo_is_the_last_that_was_marked() -> None:
    mark = '<direction><sound tempo="{}"/></direction>'
    marked = part(
        bar(attributes() + mark.format(88) + WHOLE), bar(WHOLE, 2), bar(mark.format(60) + WHOLE, 3)
    )
    assert [bar.tempo for bar in choose_bars(marked, "2-3")] == [88, 60]


def test_bars_that_are_not_there_are_answered_with_the_range() -> None:
    with pytest.raises(PassageError, match='no bar is called "99"; they go from 11 to 13'):
        choose_bars(ENDINGS, "12-99")
    with pytest.raises(PassageError, match=r'"12\.3": 2 bars are called 12'):
        choose_bars(ENDINGS, "12.3")
    with pytest.raises(PassageError, match='"13-11" runs backwards'):
        choose_bars(ENDINGS, "13-11")
    with pytest.raises(PassageError, match='"a to b" is not like 12 or 12-15'):
        choose_bars(ENDINGS, "a to b")


def test_a_bar_that_a_repeat_splits_is_one() -> None:
    split = part(
        bar(attributes() + WHOLE, 1),
        bar(line("A4 A4 A4"), 2),
        bar(line("B4"), "X1", ' implicit="yes"'),
        bar(WHOLE, 3),
    )
    bars = choose_bars(split, "1-2")
    assert [(each.number, each.length) for each in bars] == [("1", 4), ("2", 4)]
    assert [str(n.pitch) for n in bars[1].notes] == ["A4", "A4", "A4", "B4"]


def test_two_numbered_bars_that_make_one_bear_both_numbers() -> None:
    split = part(bar(attributes() + line("A4 A4 A4"), 24), bar(line("B4"), 25), bar(WHOLE, 26))
    assert called(choose_bars(split, "24-26")) == ["24+25", "26"]
    assert called(choose_bars(split, "25-26")) == ["25", "26"]


def test_all_bars_are_taken_where_none_are_named() -> None:
    assert len(choose_bars(part(*numbered(WHOLE, WHOLE)), None)) == 2
