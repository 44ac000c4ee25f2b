"""The words at the music, as a player says them."""

from __future__ import annotations

import pytest
from written_music import music

from playalong.drill.load import load
from playalong.engraving.words import position_words, shift_words, twin_words
from playalong.instrument.position import Position
from playalong.instrument.shift import Kind
from playalong.score.explanation import Twin
from playalong.score.writing import write
from playalong.shipped import demo_folder


@pytest.mark.parametrize(
    ("position", "words"),
    [
        (0, "half position"), (1, "1st position"), (2, "2nd position"), (3, "3rd position"),
        (4, "4th position"), (10, "10th position"), (11, "11th position"), (12, "12th position"),
        (13, "13th position"), (14, "14th position"), (21, "21st position"),
    ],
)  # fmt: skip
def test_a_position_is_named_by_its_ordinal(position, words):
    assert position_words(Position(position)) == words
    assert position_words(Position(position), short=True) == words.replace("position", "pos.")


def test_the_ordinals_stand_over_the_notes():
    root = music("p11: 1*2 p12: 1*2 p13: 1*2 p2: 1*2", 'strings = ["G"]')
    words = [each.text for each in root.iter("words") if "position" in each.text]
    assert words == ["11th position", "12th position", "13th position", "2nd position"]


def test_an_exchange_is_told_without_a_ghost_note():
    drill = load(demo_folder() / "03-exchange.toml")
    arrivals = [note.arrival for note in write(drill).notes if note.arrival]
    exchanges = [travel for travel in arrivals if travel.kind is Kind.EXCHANGE]
    assert exchanges
    assert not [words for words in map(shift_words, exchanges) if "ghost" in " ".join(words)]


@pytest.mark.parametrize(
    ("octaves", "words"),
    [(1, "an octave higher"), (-1, "an octave lower"), (2, "2 octaves higher")],
)
def test_a_bar_that_repeats_another_says_which_way(octaves, words):
    assert twin_words(5, Twin(1, octaves)) == f"bar 5: as bar 1, {words}"
