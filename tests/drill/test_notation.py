"""Bar notation: every kind of token, and what stays in force for the tokens after it."""

from fractions import Fraction

import pytest

from playalong.drill.notation import parse_bars
from playalong.drill.origin import DrillError
from playalong.drill.pattern import Event, Pattern, Symbol
from playalong.instrument.position import Position
from playalong.music.pitch import Pitch

OF_EVENT = ("length", "silent", "slide", "slur", "grace")


def only(text: str) -> Event:
    """The one event of a bar."""
    (event,) = parse_bars(text).events
    return event


def symbol(text: str) -> Symbol:
    (found,) = only(text).symbols
    return found


def note(**fields: object) -> Event:
    """An event of one symbol, in first position where nothing else is said."""
    of_event = {name: fields.pop(name) for name in OF_EVENT if name in fields}
    return Event((Symbol(**fields),), **of_event)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("0", note(finger=0)),
        *((str(finger), note(finger=finger)) for finger in (1, 2, 3, 4)),
        ("2#", note(finger=2, alter="#")),
        ("2b", note(finger=2, alter="b")),
        ("2n", note(finger=2, alter="n")),
        ("1x", note(finger=1, extended=True)),
        ("3x", note(finger=3, extended=True)),
        ("4x", note(finger=4, extended=True)),
        ("4x#", note(finger=4, extended=True, alter="#")),
        ("4#x", note(finger=4, extended=True, alter="#")),
        ("-3", note(finger=3, silent=True)),
        ("~3", note(finger=3, slide=True)),
        ("-0", note(finger=0, silent=True)),
        ("1*2", note(finger=1, length=Fraction(2))),
        ("1*1/2", note(finger=1, length=Fraction(1, 2))),
        ("1*3/2", note(finger=1, length=Fraction(3, 2))),
        ("1.", note(finger=1, length=Fraction(3, 2))),
        ("-2#.", note(finger=2, alter="#", silent=True, length=Fraction(3, 2))),
        ("F#4=2.", note(index=31, pitch_alter=1, finger=2, length=Fraction(3, 2))),
        (
            "~4x#*3/2",
            note(finger=4, extended=True, alter="#", slide=True, length=Fraction(3, 2)),
        ),
        ("p3: 1", note(finger=1, position=Position(3))),
        ("p0: 1", note(finger=1, position=Position(0))),
        ("p1!: 1", note(finger=1, fixed=True)),
        ("D: 1", note(finger=1, string="D")),
        ("D: p3!: 1", note(finger=1, string="D", position=Position(3), fixed=True)),
        ("(1)", note(finger=1, slur=0)),
        ("C5", note(index=35)),
        ("F#4", note(index=31, pitch_alter=1)),
        ("F♯4", note(index=31, pitch_alter=1)),
        ("Bb3", note(index=27, pitch_alter=-1)),
        ("Cn5", note(index=35, pitch_alter=0)),
        ("C##5", note(index=35, pitch_alter=2)),
        ("Cx5", note(index=35, pitch_alter=2)),
        ("Bbb3", note(index=27, pitch_alter=-2)),
        ("E4=1", note(index=30, finger=1)),
        (
            "~F#4=2*1/2",
            note(index=31, pitch_alter=1, finger=2, slide=True, length=Fraction(1, 2)),
        ),
    ],
)  # fmt: skip
def test_a_token_means_what_the_table_of_the_notation_says(text: str, expected: Event) -> None:
    assert only(text) == expected


def test_a_written_pitch_counts_letters_from_c0() -> None:
    for name in ("C4", "A4", "B3", "G5"):
        assert symbol(name).index == Pitch.of(name).index


def test_a_rest_has_neither_finger_nor_pitch() -> None:
    one, rest, dotted = parse_bars("1 r*2 r.").events
    assert rest.is_rest
    assert not one.is_rest
    assert (rest.length, dotted.length) == (2, Fraction(3, 2))


def test_a_tie_has_no_symbol_of_its_own_and_is_no_rest() -> None:
    one, tie, longer = parse_bars("1 _ | _.").events
    assert (tie, longer) == (Event(tied=True), Event(length=Fraction(3, 2), tied=True))
    assert not one.tied
    assert not tie.is_rest


def test_a_grace_note_is_a_note_without_a_time_of_its_own() -> None:
    events = parse_bars("g:D5=2 ~g:2# 1").events
    assert events[:2] == (
        note(index=36, finger=2, grace=True),
        note(finger=2, alter="#", slide=True, grace=True),
    )
    assert not events[2].grace


def test_a_meter_or_a_key_may_change_after_a_bar_line() -> None:
    pattern = parse_bars("1 | 3/4: 2 | G major: 6/8: 3 | B-flat  minor: 4")
    found = [(each.place, str(each.meter), str(each.key)) for each in pattern.changes]
    assert found == [
        (1, "3/4", "None"),
        (2, "None", "G major"),
        (2, "6/8", "None"),
        (3, "None", "Bb minor"),
    ]
    assert [len(bar) for bar in pattern.bars] == [1, 1, 1, 1]


def test_position_string_and_fixed_home_hold_across_bar_lines_until_written_again() -> None:
    pattern = parse_bars("D: p1!: 1 2 | 3 A: p3: 1 | 2")
    held = [(each.string, each.position.number, each.fixed) for each in pattern.symbols]
    assert held == [("D", 1, True)] * 3 + [("A", 3, False)] * 2
    assert [len(bar) for bar in pattern.bars] == [2, 2, 1]


def test_a_bar_starts_in_first_position_on_no_string() -> None:
    assert symbol("1").position.number == 1
    assert symbol("1").string is None


def test_a_slur_may_cross_a_bar_line_and_each_slur_is_its_own() -> None:
    events = parse_bars("(1 2 | 3) 4 (1 2)").events
    assert [event.slur for event in events] == [0, 0, 0, None, 1, 1]


def test_parentheses_and_bar_lines_need_no_spaces() -> None:
    spaced = [event.origin.text for event in parse_bars("( 1 2 ) | ( 3 4 )").events]
    assert [event.origin.text for event in parse_bars("(1 2)|(3 4)").events] == spaced


def test_a_pattern_knows_whether_it_names_strings_and_has_slurs() -> None:
    def facts(pattern: Pattern) -> tuple[bool, bool]:
        return pattern.names_strings, pattern.has_slurs

    assert facts(parse_bars("D: (1 2)")) == (True, True)
    assert facts(parse_bars("D: 1 2")) == (True, False)
    assert facts(parse_bars("(C5 D5) r")) == (False, True)


def test_a_token_remembers_where_it_stands_in_the_text() -> None:
    text = "p1: 1  2#\n| (3*2)"
    events = parse_bars(text).events
    assert len(events) == 3
    for event in events:
        assert event.origin.column is not None
        assert text[event.origin.column - 1 :].startswith(event.origin.text)


@pytest.mark.parametrize(
    ("text", "offset", "match"),
    [
        ("1 2 5", 4, '"5": fingers are 0'),
        ("1 0#", 2, '"0#": an open string cannot be altered'),
        ("1 3+1", 2, '"3[+]1": two notes at once are not played'),
        ("1\n2 (3", 4, "never closed"),
        ("1 )", 2, "no bow is open"),
        ("1 ()", 3, "a bow with no note"),
        ("1 g:2*2 1", 2, '"g:2[*]2": a grace note is a finger or a pitch after g:, without a len'),
        ("1 g:r 1", 2, '"g:r": a grace note is a finger or a pitch after g:'),
        ("3/4: 1", 0, '"3/4:": what the first bar begins in is a setting: meter = "3/4"'),
        ("1 G major: 2", 2, '"G major:": what the first bar begins in is a setting: keys = '),
        ("1 | 2 3/4: 3", 6, '"3/4:": a meter or key changes at a bar line; write it right aft'),
        ("1 | 3/5: 3", 4, '"3/5" is not a meter like 4/4, 3/4, 6/8 or 5/4'),
        ("1 | G majr: 3", 4, '"G majr" is not a key; did you mean "G major"'),
        ("1 ~_", 2, '"~_": a tie is one note that goes on, so nothing moves into it: no ~'),
        ("1 | | 2", 2, "bar 2 is empty"),
        ("| 1", 0, "bar 1 is empty"),
    ],
)
def test_a_notation_error_points_at_the_character(text: str, offset: int, match: str) -> None:
    with pytest.raises(DrillError, match=match) as caught:
        parse_bars(text)
    assert caught.value.column == offset + 1


def test_a_double_bar_line_parts_bars_and_changes_nothing_else():
    single, double = parse_bars("1 | ( 2 | 3 ) | 4"), parse_bars("1|( 2 || 3 )|| 4")
    assert double.bars == single.bars
    assert (single.parted, double.parted) == (frozenset(), {1, 2})
    for text in ("1 ||", "1 | | 2", "1 ||| 2"):
        with pytest.raises(DrillError, match=r"bar 2 is empty; fill it with rests \(r\)"):
            parse_bars(text)
