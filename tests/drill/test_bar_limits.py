"""The limits of bar notation and meters: the last that is taken, and the first that is not."""

from __future__ import annotations

import re

import pytest
from explained import drill_text, told

from playalong.drill.load import parse
from playalong.errors import PlayalongError

QUARTERS = 'note = "quarter"'

TOKENS = [
    # a token that is taken, one a step beyond, and what is said of it
    ("4", "5", "fingers are 0 (open string) to 4, not 5"),
    ("E4=4", "E4=5", "fingers are 0 (open string) to 4, not 5"),
    ("B9", "B10", "octaves go from 0 to 9, and C4 is middle C"),
    ("C0", "C-1", "a token is a finger"),
    ("1x", "0x", "an open string cannot be altered"),
    ("3x", "2x", "finger 2 does not reach; only 1x, 3x and 4x do"),
    ("4x", "5x", "fingers are 0 (open string) to 4, not 5"),
    ("3#x", "3##x", "one of #, b or n may follow a finger, and one x"),
    ("3bx", "3bxx", "one of #, b or n may follow a finger, and one x"),
    ("F##4", "F###4", "a token is a finger"),
    ("Bbb4", "Bbbb4", "a token is a finger"),
    ("-1", "--1", "a token is a finger"),
    ("~1", "~~1", "a token is a finger"),
    ("-0", "~0", "no finger slides into an open string"),
    ("1*999", "1*1000", "a length is written like *2, *1/2 or *3/2, not *1000"),
    ("1*1/999", "1*1/1000", "a length is written like *2, *1/2 or *3/2, not *1/1000"),
    ("1*1/2", "1*1/0", "a length is written like *2, *1/2 or *3/2, not *1/0"),
    ("1*1", "1*0", "a length is written like *2, *1/2 or *3/2, not *0"),
    ("1*1", "1*1.0", "a length is written like *2, *1/2 or *3/2, not *1.0"),
]


@pytest.mark.parametrize(("good", "bad", "said"), TOKENS)
def test_a_token_is_taken_up_to_its_limit(good: str, bad: str, said: str) -> None:
    """What is taken may leave the bar unfilled; that is no fault of the token's."""
    with pytest.raises(PlayalongError, match=re.escape(said)) as caught:
        parse(drill_text(f"{bad} 1 2 3 1 2 3 1"))
    assert f'"{bad}"' in str(caught.value)
    with pytest.raises(PlayalongError, match=r"bar 1 has|a quarter has 960 parts"):
        parse(drill_text(f"{good} 1 2 3 1 2 3 1*9"))


def test_positions_go_from_half_to_twenty_first() -> None:
    parse(drill_text("p0: 1*4 p21: 1*4"))  # whose place no fingerboard has: told when played
    with pytest.raises(
        PlayalongError, match=r'"p22:": positions go from 0 \(half position\) to 21'
    ):
        parse(drill_text("p22: 1*8"))


def test_a_token_has_24_characters_at_most() -> None:
    with pytest.raises(PlayalongError, match=f'"{"z" * 24}" is not a token'):
        parse(drill_text("z" * 24))
    with pytest.raises(
        PlayalongError, match=f'"{"z" * 24}…" is too long; tokens are apart by spaces'
    ):
        parse(drill_text("z" * 25))


def test_the_climb_may_lead_down_to_half_position_and_no_further() -> None:
    (data,) = told(drill_text("p2: 1*4 p1: 1*4", "climb = [1]"))
    assert [note["position"] for note in data["bars"][0]["notes"]] == [1, 0]
    with pytest.raises(PlayalongError, match="the climb leads to position -1; positions go from 0"):
        told(drill_text("p2: 1*4 p1: 1*4", "climb = [0]"))


# --- lengths and meters


@pytest.mark.parametrize(("at", "beyond"), [("64", "65"), ("1/999", "1/1000"), ("99/2", "100/2")])
def test_a_length_of_the_rhythm_is_taken_up_to_its_limit(at: str, beyond: str) -> None:
    with pytest.raises(PlayalongError, match=r"bar 1 has|a quarter has 960 parts"):
        parse(drill_text("1 2 3", f'rhythm = ["{at}"]'))
    with pytest.raises(PlayalongError, match=f'rhythm: "{beyond}" is not a length in plain notes'):
        parse(drill_text("1 2 3", f'rhythm = ["{beyond}"]'))


@pytest.mark.parametrize("value", ["0", "0/4", "-1", "1.5", "1/", "/2", "one", "1 /2"])
def test_what_is_no_length_is_no_part_of_a_rhythm(value: str) -> None:
    with pytest.raises(PlayalongError, match=f'rhythm: "{value}" is not a length in plain notes'):
        parse(drill_text("1*8", f'rhythm = ["{value}"]'))


def test_a_length_has_a_960th_of_a_quarter_as_its_part_at_most() -> None:
    parse(drill_text("1*1/7 2*6/7 3*2/9 1*7/9 4 1", QUARTERS))
    parse(drill_text("1*1/960 2*959/960 3 4 1", QUARTERS))
    parse(drill_text("1*1/480 2*479/480 3 4 1 2 3 4 1", 'note = "eighth"'))
    with pytest.raises(
        PlayalongError, match=r'"1\*1/961" would last 1/961 of a quarter; .* 960 parts'
    ):
        parse(drill_text("1*1/961 2*960/961 3 4 1", QUARTERS))
    with pytest.raises(PlayalongError, match=r'"1\*1/960" would last 1/1920 of a quarter'):
        parse(drill_text("1*1/960 2*959/960 3 4 1 2 3 4 1", 'note = "eighth"'))


@pytest.mark.parametrize(
    ("bar", "note", "meter", "said"),
    [
        ("1 2 3", "half", "4/4", "bar 1 has 3 halves where 4/4 takes 2 halves: 1 half too long"),
        ("1", "half", "4/4", "bar 1 has 1 half where 4/4 takes 2 halves: 1 half too short"),
        ("1 2", "whole", "4/4", "bar 1 has 2 wholes where 4/4 takes 1 whole: 1 whole too long"),
        ("1", "whole", "3/4", "bar 1 has 1 whole where 3/4 takes 3/4 whole: 1/4 whole too long"),
        ("1 2", "quarter", "3/8", "2 quarters where 3/8 takes 1 1/2 quarters: 1/2 quarter"),
        ("1 2 3", "sixteenth", "2/16", "3 sixteenths where 2/16 takes 2 sixteenths: 1 sixteenth"),
        ("1 2 3 1 2 3 1*2", "eighth", "6/8", "8 eighths where 6/8 takes 6 eighths: 2 eighths too"),
        ("1*8 | 2*7", "eighth", "4/4", "bar 2 has 7 eighths where 4/4 takes 8 eighths: 1 eighth"),
    ],
)  # fmt: skip
def test_a_bar_that_does_not_fill_its_meter_is_told_by_how_much(
    bar: str, note: str, meter: str, said: str
) -> None:
    with pytest.raises(PlayalongError, match=re.escape(said)):
        parse(drill_text(bar, f'note = "{note}"', f'meter = "{meter}"'))


@pytest.mark.parametrize("meter", ["1/4", "32/4", "32/2", "3/16", "7/8", " 6 / 8 "])
def test_a_meter_has_1_to_32_notes_of_a_half_to_a_sixteenth(meter: str) -> None:
    count, unit = (int(part) for part in meter.split("/"))
    eighths = f"1*{count * 8 // unit}" if count * 8 % unit == 0 else f"1*{count * 8}/{unit}"
    drill = parse(drill_text(eighths, f'meter = "{meter}"'))
    assert str(drill.meter) == meter.replace(" ", "")


@pytest.mark.parametrize(
    "meter", ["0/4", "33/4", "4/1", "4/3", "4/32", "4/0", "100/4", "4/4/4", "4", "/4", "C", "-4/4"]
)
def test_no_other_meter_is_known(meter: str) -> None:
    with pytest.raises(PlayalongError, match=f'meter: "{meter}" is not a meter like 4/4, 3/4, 6/8'):
        parse(drill_text("1*8", f'meter = "{meter}"'))


@pytest.mark.parametrize(
    ("meter", "fits"),
    [
        ("2/4", True), ("4/4", True), ("2/2", True), ("6/8", True), ("12/8", True), ("6/4", True),
        ("3/4", False), ("5/4", False), ("9/8", False), ("3/8", False), ("7/8", False),
    ],
)  # fmt: skip
def test_a_half_bar_falls_on_a_beat_where_the_bar_has_an_even_number_of_them(
    meter: str, fits: bool
) -> None:
    """Beats of 6/8 and its kin are dotted quarters: two, three or four to a bar."""
    count, unit = (int(part) for part in meter.split("/"))
    for setting in ('bow = "half bar"', 'click.every = "half bar"'):
        text = drill_text(f"1*{count * 8 // unit}", f'meter = "{meter}"', setting)
        if fits:
            parse(text)
            continue
        name = setting.split(" = ")[0]
        with pytest.raises(
            PlayalongError, match=f'{name}: "half bar" does not fall on a beat in {meter}'
        ):
            parse(text)
