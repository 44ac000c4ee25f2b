"""Clicks, onsets and sweeps sound when the timeline says."""

from __future__ import annotations

import random
from typing import Any

import numpy as np
import pytest
from chain import CLICK, DRONE, GHOST, GUIDE, Played, play
from measure import (
    RATE_HZ,
    Floats,
    cut,
    envelope,
    first_sound,
    level_db,
    matched_times,
    onset,
    sweep,
)
from scipy.signal import butter, sosfiltfilt

STAGES = ("listen", "answer", "check", "alone")
BARS = ("p1: 1 2 p3: 1 2 | p1: 2 1 p4: 1 3", "p1: 1 2 r p3: 2 | 1 p1: 3 2 r")


def cases() -> list[dict[str, Any]]:
    chance = random.Random(4)
    return [
        {
            "bar": chance.choice(BARS),
            "bpm": chance.choice((30, 47, 60, 88, 120, 208)),
            "stage": stage,
            "string": chance.choice("GDA"),
            "instrument": chance.choice(("violin", "viola")),
            "bow": chance.choice(('"note"', '"half bar"')),
            "click__every": chance.choice(('"beat"', '"half beat"', '"bar"')),
        }
        for stage in 4 * STAGES
    ]


def told(case: dict[str, Any]) -> str:
    return " ".join(str(value) for value in case.values())


@pytest.mark.parametrize("case", cases(), ids=told)
def test_clicks_and_onsets_sound_when_the_timeline_says(case: dict[str, Any]) -> None:
    played = play(note='"quarter"', passes="2", **case)
    clicks = played.sound(*CLICK)
    for click in played.timeline["clicks"]:
        if not click["sweep"]:
            heard = first_sound(clicks, click["at"] - 0.02, click["at"] + 0.05)
            assert abs(heard - click["at"]) < 0.001, click
    (sweeps,) = [[c["at"] for c in played.timeline["clicks"] if c["sweep"]]]
    for at, heard in zip(sweeps, matched_times(clicks, sweep(), sweeps, 0.01), strict=True):
        assert abs(heard - at) < 0.001
    spoken = [note for note in played.notes if note["onset"]]
    assert bool(spoken) is (case["stage"] != "alone")
    for note in spoken:
        assert abs(heard_onset(played, note) - note.get("heard_from", note["from"])) < 0.005, note


def heard_onset(played: Played, note: dict[str, Any]) -> float:
    """On the guide's channel that begins to sound."""
    at = note.get("heard_from", note["from"])

    def rise_db(sound: Floats) -> float:
        after = level_db(cut(sound, at + 0.04, at + 0.09))
        return after - max(-120.0, level_db(cut(sound, at - 0.02, at - 0.005)))

    sound = max(played.voices, key=rise_db)
    return onset(envelope(sound, note["hz"]), at - 0.02, min(at + 0.14, note["to"] - 0.005))


@pytest.mark.parametrize("bpm", [47, 120])
def test_sweeps_40_decibels_under_a_drone_are_found_within_a_tenth_of_a_millisecond(
    bpm: int,
) -> None:
    """Of the times that the timeline gives them, relative to each other.

    First a band-pass above the drone's highest partial, the eighth; then the matched filter.
    """
    played = play("p1: 1 2 3 4", bpm, string="G", note='"quarter"', passes="2")
    clicks = played.sound(*CLICK)
    longer = play("p1: 1 2 3 4", bpm, string="G", note='"quarter"', passes="8")
    (drone,) = longer.timeline["drone"]
    held = cut(longer.sound(*DRONE), drone["from"] + 1, drone["to"])[: len(clicks)]
    sweeps = [click["at"] for click in played.timeline["clicks"] if click["sweep"]]
    assert len(sweeps) == 4 + 2
    one = cut(clicks, sweeps[0], sweeps[0] + 0.020)
    quiet = 10 ** ((level_db(held) - 40 - level_db(one)) / 20)
    recorded = quiet * clicks + held
    band = butter(6, (12 * drone["hz"][0], 9000), "bandpass", fs=RATE_HZ, output="sos")
    heard = matched_times(np.asarray(sosfiltfilt(band, recorded)), sweep(), sweeps, 0.01)
    late = np.array(heard) - np.array(sweeps)
    assert np.ptp(late) < 0.0001


@pytest.mark.parametrize(("bar", "bpm"), [(BARS[0], 60), (BARS[1], 88)])
def test_in_check_landings_are_silent_in_their_first_half_and_sound_in_their_second(
    bar: str, bpm: int
) -> None:
    played = play(bar, bpm, "check", string="D", note='"quarter"', passes="2")
    guide = played.sound(*GUIDE)
    assert played.notes
    for note in played.notes:
        assert note["heard_from"] == pytest.approx((note["from"] + note["to"]) / 2, abs=0.0015)
        assert level_db(cut(guide, note["from"] + 0.08, note["heard_from"])) < -90
        assert level_db(cut(guide, note["heard_from"] + 0.06, note["to"])) > -30
    silent = np.ones(len(guide), bool)
    for note in played.timeline["notes"]:
        if note["sounds"]:
            first, last = note.get("heard_from", note["from"]), note["to"] + 0.08
            silent[round(first * RATE_HZ) : round(last * RATE_HZ)] = False
    assert level_db(guide[silent]) < -90


def test_alone_gives_the_first_note_and_then_neither_guide_nor_ghost() -> None:
    played = play(BARS[0], 60, "alone", string="D", note='"quarter"', passes="2")
    guide, (given,) = played.sound(*GUIDE), [n for n in played.timeline["notes"] if n["sounds"]]
    assert level_db(cut(guide, given["from"] + 0.06, given["to"])) > -35
    assert level_db(cut(guide, given["to"] + 0.1, played.timeline["seconds"])) < -90
    assert level_db(played.sound(*GHOST)) < -150
