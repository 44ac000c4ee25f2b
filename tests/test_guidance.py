"""Cautions and practice: in every product, in words that fit who plays; a standard's figures."""

from __future__ import annotations

import re

import pytest
from explained import drill_text, printed
from pages import manifest_of, sets_of
from playing import drill_of

from playalong.guidance import EITHER, PLAYER, SINGER, Manner, cautions, practice
from playalong.instrument.catalogue import INSTRUMENTS
from playalong.making.read_me import read_me_first
from playalong.page.content import page_data
from playalong.score.writing import write

INSTRUMENT_WORDS = re.compile(r"instrument|finger|hand\b|string|bow\b|\bplay\b|playing")
VOICES = [name for name, each in INSTRUMENTS.items() if each.is_voice]


@pytest.mark.parametrize("manner", [PLAYER, SINGER, EITHER])
def test_every_caution_is_given_to_everybody_and_no_word_is_left_to_fill_in(
    manner: Manner,
) -> None:
    text = " ".join(cautions(manner))
    for needed in ("not medical advice", "Warm up", "a few minutes", "rest between tracks",
                   "Stop on", "ask a doctor or ", "Returning after ",
                   "more rest than", "whoever treats you", "low volume", "headphones"):  # fmt: skip
        assert needed in text
    assert "{" not in text + " ".join(practice(manner))


def test_the_levels_are_those_of_the_standard() -> None:
    """ITU-T H.870 (WHO, safe listening): 80 dBA for 40 hours a week, 1.6 Pa2h; children 75 dBA,
    0.51 Pa2h. Half the time for 3 dB is the equal-energy rule of the same standard."""
    text = cautions(PLAYER)[-1]
    adult, hours, child, step = map(int, re.findall(r"(\d+) (?:dB|hours)", text))

    def dose(level_dba: float) -> float:
        return hours * (20e-6 * 10 ** (level_dba / 20)) ** 2

    assert (adult, hours, child, step) == (80, 40, 75, 3)
    assert dose(adult) == pytest.approx(1.6, abs=0.005)
    assert dose(child) == pytest.approx(0.51, abs=0.005)
    assert dose(adult + step) / 2 == pytest.approx(dose(adult), rel=0.005)


@pytest.mark.parametrize("voice", VOICES)
def test_a_singer_is_not_told_of_instrument_hand_or_playing(voice: str) -> None:
    drill = drill_of("C4 ~D4 E4 F4 F4 E4 D4 C4", 'keys = ["G major"]', instrument=voice)
    scores = [write(drill)]
    read_me = read_me_first(drill, scores).partition("The stages")[2]
    read_me = read_me.replace("the bar is played", "").replace("Start playback", "")
    assert not INSTRUMENT_WORDS.findall(read_me)
    assert "Listen to it once with your voice at rest, then sing along." in " ".join(
        read_me.split()
    )
    assert drill.instrument.manner is SINGER
    explanation = printed(drill_text("C4 ~D4 E4 F4 F4 E4 D4 C4", instrument=voice))
    assert not INSTRUMENT_WORDS.findall(explanation.partition("\n")[2])


@pytest.mark.parametrize("name", sorted(set(INSTRUMENTS) - set(VOICES)))
def test_who_has_an_instrument_may_put_it_down(name: str) -> None:
    assert INSTRUMENTS[name].manner is PLAYER
    assert "rest between tracks with the instrument down" in cautions(INSTRUMENTS[name].manner)[1]


@pytest.mark.parametrize("wind", ["clarinet", "horn", "flute"])
def test_a_wind_player_is_not_told_of_a_hand_that_travels(wind: str) -> None:
    told = printed(drill_text("C5 ~D5 E5 F5 F5 E5 D5 C5", "climb = 2", instrument=wind))
    assert not re.search(r"hand|finger|string|shift", told)


def test_the_page_speaks_to_a_singer_as_the_sheet_does() -> None:
    drill = drill_of("C4*8", "passes = 1\nstages = ['listen']", instrument="mezzo")
    manifest = manifest_of(drill)
    data = page_data(manifest, drill, sets_of(drill, manifest))
    assert data["cautions"] == list(cautions(SINGER))
    assert data["stages"]["listen"] == "the bar is played; then sing along"
    assert data["at_rest"] == "with your voice at rest"
