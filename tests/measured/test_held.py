"""Held notes and drone stand where the timeline says; in unison they do not beat."""

from __future__ import annotations

import random
from typing import Any

import numpy as np
import pytest
from chain import DRONE, GUIDE, Played, play
from measure import cut, praat_cents_off, ripple_db

E6_HZ = 1318.6
TEMPERAMENTS = ("equal", "pythagorean", "just")
A4S_HZ = (415, 440, 443)
KEYS = ("C major", "D major", "Bb major", "E minor", "F# minor", "Ab major", "G harmonic minor")
WRITTEN = (("cello", "C2 G2 D3 A4"), ("bass", "F2 C3 G3 D4"), ("voice", "E3 C4 G4 F5"))


def cases() -> list[dict[str, Any]]:
    """Every temperament at every A4; instrument, string, position and key by seeded choice."""
    chance = random.Random(20)
    found: list[dict[str, Any]] = []
    for temperament in TEMPERAMENTS:
        for a4 in A4S_HZ:
            tuning = {"tuning__a4": str(a4), "tuning__temperament": f'"{temperament}"'}
            for instrument, strings in 2 * (("violin", "GDAE"), ("viola", "CGDA")):
                position = chance.choice((1, 2, 3, 5, 7, 8))
                found.append(
                    tuning
                    | {
                        "instrument": instrument,
                        "bar": f"p{position}: 1 2 3 4",
                        "string": chance.choice(strings),
                        "key": chance.choice(KEYS),
                    }
                )
            instrument, bar = chance.choice(WRITTEN)
            found.append(
                tuning | {"instrument": instrument, "bar": bar, "key": chance.choice(KEYS[:3])}
            )
    return found


def told(case: dict[str, Any]) -> str:
    tuning = f"{case['tuning__temperament']} {case['tuning__a4']}"
    return f"{tuning} {case['instrument']} {case.get('string', '')} {case['key']}, {case['bar']}"


def assert_stands(off_cents: Any, hz: float) -> None:
    """The promise: the median within 0.5 cent, the middle nine tenths within 1 up to E6."""
    low, median, high = np.percentile(off_cents, (5, 50, 95))
    assert abs(median) < 0.5, hz
    if hz <= E6_HZ:
        assert low > -1, hz
        assert high < 1, hz


@pytest.mark.parametrize("case", cases(), ids=told)
def test_held_notes_and_drone_stand_where_the_timeline_says(case: dict[str, Any]) -> None:
    played = play(passes="1", note='"quarter"', **case)
    guide, drone = played.sound(*GUIDE), played.sound(*DRONE)
    assert len(played.notes) == 4
    for note in played.notes:
        assert_stands(
            praat_cents_off(guide, note["from"] + 0.1, note["to"], note["hz"]), note["hz"]
        )
    (span,) = played.timeline["drone"]
    assert span["hz"] == [played.timeline["tonic_hz"]]
    (hz,) = span["hz"]
    assert_stands(praat_cents_off(drone, span["from"] + 0.3, span["from"] + 3.3, hz), hz)


def test_the_median_stands_in_the_highest_positions_too() -> None:
    played = play("p13: 1 2 3 4", string="E", passes="1", note='"quarter"')
    guide = played.sound(*GUIDE)
    for note in played.notes:
        assert note["hz"] > E6_HZ
        off = praat_cents_off(guide, note["from"] + 0.1, note["to"], note["hz"])
        assert abs(np.median(off)) < 0.5


def unison(temperament: str, a4: int, key: str, bar: str, instrument: str) -> Played:
    return play(
        bar,
        40,
        key=key,
        instrument=instrument,
        note='"whole"',
        passes="1",
        tuning__a4=str(a4),
        tuning__temperament=f'"{temperament}"',
    )


@pytest.mark.parametrize("temperament", TEMPERAMENTS)
@pytest.mark.parametrize(
    ("a4", "key", "bar", "instrument"),
    [
        (415, "C major", "C4", "violin"),
        (440, "Eb major", "E4", "violin"),
        (443, "F# minor", "F4", "violin"),
        (415, "A major", "A3", "viola"),
        (440, "D minor", "D3", "viola"),
        (443, "F major", "F3", "viola"),
        (440, "E minor", "E2", "cello"),
    ],
)
def test_guide_and_drone_in_unison_do_not_beat(
    temperament: str, a4: int, key: str, bar: str, instrument: str
) -> None:
    played = unison(temperament, a4, key, bar, instrument)
    (note,) = played.notes
    (drone,) = played.timeline["drone"]
    assert drone["hz"] == [note["hz"]]
    both = played.sound(*GUIDE, *DRONE)
    assert ripple_db(cut(both, note["from"] + 0.3, note["from"] + 4.3)) < 0.5
