"""The number of a passage's first bar goes from the drill file to all that counts bars."""

from __future__ import annotations

from re import findall

import pytest
from playing import drill_of, play

from playalong.drill.load import parse
from playalong.drill.origin import DrillError
from playalong.engraving.musicxml import musicxml
from playalong.engraving.written_score import write_down
from playalong.performance.timing import timeline_of
from playalong.score.explanation import explain
from playalong.score.model import Score
from playalong.score.writing import write

SETTINGS = 'strings = ["D"]\nkeys = ["C major"]\nclimb = 2\nfirst_bar = 12\npasses = 2'
BARS = [12, 13, 14, 15]


@pytest.fixture(scope="module")
def score() -> Score:
    return write(drill_of("1*8 | 2*8", SETTINGS))


def test_bars_are_counted_from_it_through_the_climb(score: Score) -> None:
    assert [bar["bar"] for bar in explain(score)["bars"]] == BARS
    assert [bar.number for bar in write_down(score).bars] == BARS
    assert findall(rb'<measure number="(\d+)"', musicxml(write_down(score))) == [
        str(bar).encode() for bar in BARS
    ]


def test_what_sounds_is_counted_from_it(score: Score) -> None:
    timeline = timeline_of(play("1*8 | 2*8", SETTINGS))
    assert [bar.bar for bar in timeline.bars] == [0, 0, 12, 13, 12, 13, 14, 15, 14, 15]
    assert list(dict.fromkeys(note.bar for note in timeline.notes if not note.is_given)) == BARS


def test_an_upbeat_leads_to_it() -> None:
    drill = drill_of("1*2 | 2*8 | 3*6", 'strings = ["D"]\nupbeat = "2"\nfirst_bar = 12')
    assert [(bar.number, bar.is_upbeat) for bar in drill.bars] == [
        (12, True),
        (12, False),
        (13, False),
    ]
    assert drill.bar_count == 2


def test_what_is_wrong_with_a_bar_is_told_by_its_number() -> None:
    with pytest.raises(DrillError, match="bar 13 has 7 eighths where 4/4 takes 8 eighths"):
        drill_of("1*8 | 1*7", "first_bar = 12")
    with pytest.raises(DrillError, match="bar 13 is empty"):
        drill_of("1*8 | | 1*8", "first_bar = 12")


@pytest.mark.parametrize(
    ("value", "told"),
    [
        ("0", "0 is outside 1 to 9999"),
        ("10000", "10000 is outside 1 to 9999"),
        ('"12"', '"12" is not a whole number from 1 to 9999'),
        ("12.5", "12.5 is not a whole number from 1 to 9999"),
    ],
)
def test_it_is_a_whole_number_from_1(value: str, told: str) -> None:
    text = f'title = "Try"\ninstrument = "viola"\nbar = "1*8"\nfirst_bar = {value}'
    with pytest.raises(DrillError, match=f"drill.toml, line 4: first_bar: {told}"):
        parse(text)
