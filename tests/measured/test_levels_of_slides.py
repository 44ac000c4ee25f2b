"""The level along a slide: lighter where the finger is fastest, in `answer` more than in `listen`.

A full slide dips by 1.5 dB at the finger's top speed, a lighter one by 6, in proportion to the
speed, and both are back at full level where they arrive. By minimum jerk (Flash and Hogan 1985)
the speed at share t of the time is 30 t^2 (1 - t)^2 of the mean, at most 1.875 of it at half time,
so the dip of a lighter one is 6 * 16 t^2 (1 - t)^2 dB. A level in MIDI is 40 log10(value / 127) dB
(General MIDI 2).
"""

from __future__ import annotations

from collections import defaultdict
from itertools import pairwise
from typing import Any

import numpy as np
import pytest
from chain import GUIDE, Played, play
from measure import RATE_HZ, Floats, cut, level_db, levels_db

from playalong.drill.stage import Stage

FULL_DB, DIP_DB = 1.5, 6.0
BARS = ["p1: 1 p3: 1 p1: 1*2", "p1: 2 p5: 1 p1: 1*2", "p2: 1 ~2 1*2"]  # each joins note to note
LEVEL = 11


def dip_db(t: float, deepest: float = DIP_DB) -> float:
    return deepest * 16 * t * t * (1 - t) ** 2


def played(bar: str, stage: str, bow: str = "bar") -> Played:
    return play(bar, 48, stage, string="D", note='"quarter"', passes="1", bow=f'"{bow}"')


def levels(track: Played, slide: dict[str, Any]) -> list[tuple[float, int]]:
    """Share of a slide's time and value of every change of level on the channel that slides."""
    file = track.midi
    (tempo,) = (message.tempo for message in file.tracks[0] if message.type == "set_tempo")
    seconds, found = 0.0, defaultdict(list)
    for message in file.tracks[1]:
        seconds += message.time * tempo / 1e6 / file.ticks_per_beat
        t = (seconds - slide["from"]) / (slide["to"] - slide["from"])
        if message.type == "control_change" and message.control == LEVEL and 0 < t < 1.01:
            found[message.channel].append((t, message.value))
    return max(found.values(), key=len, default=[])


@pytest.mark.parametrize("bar", BARS)
def test_a_lighter_slide_follows_the_fingers_speed_and_comes_back(bar: str) -> None:
    track = played(bar, "answer")
    sent = levels(track, track.slides[0])
    assert len(sent) > 20
    for t, value in sent:
        # one step of the controller, and a block of 64 frames between its time and its value
        assert value == pytest.approx(127 * 10 ** (-dip_db(min(t, 1)) / 40), abs=1.2)
    values = [value for _, value in sent]
    lowest = values.index(round(127 * 10 ** (-DIP_DB / 40)))
    assert values[lowest] == min(values) == 90
    assert (sent[lowest][0] + sent[lowest + 1][0]) / 2 == pytest.approx(0.5, abs=0.02)
    assert values[-1] == 127
    assert all(one != two for one, two in pairwise(values))  # each is sent once


@pytest.mark.parametrize("bar", BARS)
def test_a_full_slide_gives_way_a_little_and_comes_back(bar: str) -> None:
    track = played(bar, "listen")
    sent = levels(track, track.slides[0])
    for t, value in sent:
        assert value == pytest.approx(127 * 10 ** (-dip_db(min(t, 1), FULL_DB) / 40), abs=1.2)
    values = [value for _, value in sent]
    assert min(values) == round(127 * 10 ** (-FULL_DB / 40))
    assert values[-1] == 127


def loudness(track: Played) -> Floats:
    return levels_db(track.sound(*GUIDE), 0.02)


@pytest.mark.parametrize("bar", BARS)
def test_the_dip_is_heard_and_gone_on_arrival(bar: str) -> None:
    """Against the same slide in full, which the two stages share but for the dip."""
    light, full = played(bar, "answer"), played(bar, "listen")
    slide = light.slides[0]
    assert [slide[name] for name in ("from", "to")] == [
        full.slides[0][name] for name in ("from", "to")
    ]
    softer = loudness(full)[: len(loudness(light))] - loudness(light)[: len(loudness(full))]
    for t in (0.1, 0.25, 0.4, 0.5, 0.6, 0.75, 0.9):
        at = round((slide["from"] + t * (slide["to"] - slide["from"])) * RATE_HZ)
        assert softer[at] == pytest.approx(dip_db(t, DIP_DB - FULL_DB), abs=0.35), t
    before, after = slide["from"] - 0.05, slide["to"] + 0.03
    for at in (before, after):
        assert softer[round(at * RATE_HZ)] == pytest.approx(0, abs=0.1)


@pytest.mark.parametrize(("ghosts", "db"), [("sounded", -1), ("light", -1), ("silent", -12)])
def test_a_finger_that_leads_to_a_ghost_grows_lighter_and_all_but_silent_where_none_sounds(
    ghosts: str, db: float
) -> None:
    """It leaves its weight to the finger that is to fall."""
    stage = Stage("own", ("full",), "full", ghosts)
    track = play("p1: 1*2 p3: 3*2", 48, stage, string="D", note='"quarter"', passes="1")
    sent = levels(track, track.slides[0])
    assert 40 * np.log10(sent[-1][1] / 127) == pytest.approx(db, abs=0.1)
    for t, value in sent:  # as much as the way that it has gone, by minimum jerk
        way = t**3 * (10 - 15 * t + 6 * t * t) if t < 1 else 1
        level_db = db * way - dip_db(min(t, 1), FULL_DB)
        assert value == pytest.approx(127 * 10 ** (level_db / 40), abs=1.2)


@pytest.mark.parametrize("bar", ["( 1 r 1 ) 2", "( 1 r p3: 1 ) 2", "( 3 r p3: 1 ) 2"])
def test_a_rest_under_a_slur_is_silent(bar: str) -> None:
    track = play(bar, 60, string="D", note='"quarter"', passes="1")
    first, second = track.notes[:2]
    sound = track.sound(*GUIDE)
    assert level_db(cut(sound, first["from"] + 0.1, first["to"] - 0.1)) > -40
    assert level_db(cut(sound, second["from"] + 0.1, second["to"] - 0.1)) > -40
    assert second["from"] - first["to"] == pytest.approx(1, abs=0.003)
    assert level_db(cut(sound, first["to"] + 0.15, second["from"] - 0.02)) < -90
