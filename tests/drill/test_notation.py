"""Bar notation: every kind of token, and what stays in force for the tokens after it."""

from dataclasses import replace
from fractions import Fraction

import pytest

from playalong.drill.errors import NotationError
from playalong.drill.notation import Pattern, Token, parse_bars
from playalong.music.pitch import Pitch


def only(text: str) -> Token:
    """The one note of a bar, without where it stands in the text."""
    (token,) = parse_bars(text).tokens
    return replace(token, offset=0, text="")


BARE = Token("", 0, 1)


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("0", replace(BARE, finger=0)),
        *((str(finger), replace(BARE, finger=finger)) for finger in (1, 2, 3, 4)),
        ("2#", replace(BARE, finger=2, alter="#")),
        ("2b", replace(BARE, finger=2, alter="b")),
        ("2n", replace(BARE, finger=2, alter="n")),
        ("1x", replace(BARE, finger=1, reach=True)),
        ("3x", replace(BARE, finger=3, reach=True)),
        ("4x", replace(BARE, finger=4, reach=True)),
        ("4x#", replace(BARE, finger=4, reach=True, alter="#")),
        ("4#x", replace(BARE, finger=4, reach=True, alter="#")),
        ("-3", replace(BARE, finger=3, silent=True)),
        ("~3", replace(BARE, finger=3, slide=True)),
        ("-0", replace(BARE, finger=0, silent=True)),
        ("1*2", replace(BARE, finger=1, length=Fraction(2))),
        ("1*1/2", replace(BARE, finger=1, length=Fraction(1, 2))),
        ("1*3/2", replace(BARE, finger=1, length=Fraction(3, 2))),
        (
            "~4x#*3/2",
            replace(BARE, finger=4, reach=True, alter="#", slide=True, length=Fraction(3, 2)),
        ),
        ("p3: 1", replace(BARE, finger=1, position=3)),
        ("p0: 1", replace(BARE, finger=1, position=0)),
        ("p1!: 1", replace(BARE, finger=1, fixed=True)),
        ("D: 1", replace(BARE, finger=1, string="D")),
        ("D: p3!: 1", replace(BARE, finger=1, string="D", position=3, fixed=True)),
        ("(1)", replace(BARE, finger=1, bow=0)),
        ("C5", replace(BARE, index=35)),
        ("F#4", replace(BARE, index=31, pitch_alter=1)),
        ("F♯4", replace(BARE, index=31, pitch_alter=1)),
        ("Bb3", replace(BARE, index=27, pitch_alter=-1)),
        ("Cn5", replace(BARE, index=35, pitch_alter=0)),
        ("C##5", replace(BARE, index=35, pitch_alter=2)),
        ("Cx5", replace(BARE, index=35, pitch_alter=2)),
        ("Bbb3", replace(BARE, index=27, pitch_alter=-2)),
        ("E4=1", replace(BARE, index=30, finger=1)),
        (
            "~F#4=2*1/2",
            replace(BARE, index=31, pitch_alter=1, finger=2, slide=True, length=Fraction(1, 2)),
        ),
    ],
)  # fmt: skip
def test_a_token_means_what_the_table_of_the_notation_says(text: str, expected: Token) -> None:
    assert only(text) == expected


def test_a_written_pitch_counts_letters_from_c0() -> None:
    for name in ("C4", "A4", "B3", "G5"):
        assert only(name).index == Pitch.of(name).index


def test_a_rest_has_neither_finger_nor_pitch() -> None:
    one, rest = parse_bars("1 r*2").tokens
    assert rest.is_rest
    assert not one.is_rest
    assert rest.length == 2


def test_position_string_and_fixed_home_hold_across_bar_lines_until_written_again() -> None:
    pattern = parse_bars("D: p1!: 1 2 | 3 A: p3: 1 | 2")
    held = [(token.string, token.position, token.fixed) for token in pattern.tokens]
    assert held == [("D", 1, True)] * 3 + [("A", 3, False)] * 2
    assert [len(bar) for bar in pattern.bars] == [2, 2, 1]


def test_a_bar_starts_in_first_position_on_no_string() -> None:
    assert only("1").position == 1
    assert only("1").string is None


def test_a_slur_may_cross_a_bar_line_and_each_slur_is_its_own() -> None:
    tokens = parse_bars("(1 2 | 3) 4 (1 2)").tokens
    assert [token.bow for token in tokens] == [0, 0, 0, None, 1, 1]


def test_parentheses_and_bar_lines_need_no_spaces() -> None:
    spaced = [token.text for token in parse_bars("( 1 2 ) | ( 3 4 )").tokens]
    assert [token.text for token in parse_bars("(1 2)|(3 4)").tokens] == spaced


def test_a_pattern_knows_its_strings_slurs_and_hand() -> None:
    def facts(pattern: Pattern) -> tuple[bool, bool, bool]:
        return pattern.names_strings, pattern.has_slurs, pattern.needs_hand

    assert facts(parse_bars("D: (1 2)")) == (True, True, True)
    assert facts(parse_bars("C5 D5 r")) == (False, False, False)
    assert facts(parse_bars("E4=1")) == (False, False, False)


def test_a_token_remembers_where_it_stands_in_the_text() -> None:
    text = "p1: 1  2#\n| (3*2)"
    for token in parse_bars(text).tokens:
        assert text[token.offset :].startswith(token.text)


@pytest.mark.parametrize(
    ("text", "offset", "match"),
    [
        ("1 2 5", 4, '"5": fingers are 0'),
        ("1 0#", 2, '"0#": an open string cannot be altered'),
        ("1 2x", 2, '"2x": finger 2 does not reach'),
        ("1\n2 (3", 4, "never closed"),
        ("1 )", 2, "no bow is open"),
        ("1 ()", 3, "a bow with no note"),
        ("1 | | 2", 2, "bar 2 is empty"),
        ("| 1", 0, "bar 1 is empty"),
    ],
)
def test_a_notation_error_points_at_the_character(text: str, offset: int, match: str) -> None:
    with pytest.raises(NotationError, match=match) as caught:
        parse_bars(text)
    assert caught.value.offset == offset
