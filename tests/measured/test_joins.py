"""Level through the joins: a slurred arrival neither dips nor swells by 3 dB.

RMS over 20 ms, or two periods where those are longer, of the whole guide with its ghost notes,
from the last tenth of the slide (or where the new finger comes in) to 80 ms after the landing;
against the softer and the louder of the two notes.
"""

from __future__ import annotations

import random
from typing import Any

import numpy as np
import pytest
from chain import GUIDE, play
from measure import RATE_HZ, Floats, cut, levels_db
from scipy.signal import butter, sosfilt

MOST_DB = 3
BARS = {
    "same finger": "p1: 1 p3: 1 | p4: 2 p2: 2",
    "exchange": "p1: 2 p3: 1 | p1: 2 p5: 1",
    "old finger leads": "p1: 1 p3: 3 | p5: 4 p2: 1",
    "new finger leads": "p1: 1 p3: 3 | p5: 4 p2: 1",
    "across strings": "D: p1: 1 A: p3: 1 | p5: 2 D: p2: 3",
    "slide": "p2: 1 ~2 | ~4 ~1",
}


def cases() -> list[dict[str, Any]]:
    chance = random.Random(31)
    found: list[dict[str, Any]] = []
    for kind, bar in BARS.items():
        for stage in 4 * ("listen", "answer"):
            instrument, strings = chance.choice((("violin", "GDAE"), ("viola", "CGDA")))
            case = {
                "kind": kind,
                "bar": bar,
                "stage": stage,
                "instrument": instrument,
                "key": chance.choice(("C major", "D major", "Bb major", "F# minor")),
                "bpm": chance.choice((30, 48, 60, 80, 120)),
            }
            if kind != "across strings":
                case["string"] = chance.choice(strings)
            if "leads" in kind:
                case["slide__lead"] = f'"{kind.removesuffix(" leads")}"'
            found.append(case)
    return found


def joins(played: Any) -> list[tuple[dict[str, Any], dict[str, Any]]]:
    """Each sounding slide whose two notes share a bow, with the note it leads to."""
    found = []
    for slide in played.slides:
        old = [note for note in played.notes if note["from"] < slide["to"] - 0.001][-1]
        new = next(note for note in played.notes if note["from"] >= slide["to"] - 0.001)
        if (old["bar"], old["pass"]) == (new["bar"], new["pass"]):  # bow = "bar"
            found.append((slide, new))
    return found


def told(case: dict[str, Any]) -> str:
    names = ("kind", "stage", "instrument", "string", "key", "bpm")
    return " ".join(str(case.get(name, "")) for name in names)


@pytest.mark.parametrize("case", cases(), ids=told)
def test_a_slurred_arrival_neither_dips_nor_swells_by_3_decibels(case: dict[str, Any]) -> None:
    settings = {name: value for name, value in case.items() if name != "kind"}
    played = play(note='"half"', bow='"bar"', passes="2", **settings)
    sound = played.sound(*GUIDE)
    found = [join for join in joins(played) if join[0]["kind"] == case["kind"]]
    assert found
    for slide, new in found:
        window = max(0.020, 2 / min(slide["from_hz"], slide["to_hz"], new["hz"]))
        level = levels_db(sound, window)
        start, end, landing = slide["from"], slide["to"], new["from"]
        before = float(np.median(cut(level, start - 0.06, start - 0.01)))
        after = float(np.median(cut(level, landing + 0.1, landing + 0.2)))
        tenth = (end - start) / 10
        spans = [cut(level, end - tenth, landing + 0.08)]
        if slide["kind"] == "new finger leads":
            spans.append(cut(level, start - 0.03, start + tenth))
        for span in spans:
            assert span.min() > min(before, after) - MOST_DB, slide
            assert span.max() < max(before, after) + MOST_DB, slide


@pytest.mark.parametrize("kind", BARS)
@pytest.mark.parametrize("bow", ["note", "bar"])
def test_no_join_clicks(kind: str, bow: str) -> None:
    """Above 14 kHz, where no voice sounds and a jump would show, nothing leaps out."""
    lead = {"slide__lead": f'"{kind.removesuffix(" leads")}"'} if "leads" in kind else {}
    string = {} if kind == "across strings" else {"string": "D"}
    played = play(BARS[kind], 80, note='"half"', bow=f'"{bow}"', passes="2", **lead, **string)
    assert loudest_above_14_khz_db(played.sound(*GUIDE)) < -80


def loudest_above_14_khz_db(sound: Floats) -> float:
    """Over 2 ms."""
    high = sosfilt(butter(8, 14_000, "highpass", fs=RATE_HZ, output="sos"), sound)
    return float(levels_db(np.asarray(high), 0.002).max())


def test_a_jump_of_a_two_hundredth_of_full_scale_would_be_seen() -> None:
    sound = np.hanning(RATE_HZ) * np.sin(2 * np.pi * 300 * np.arange(RATE_HZ) / RATE_HZ) / 10
    assert loudest_above_14_khz_db(sound) < -100
    sound[RATE_HZ // 2 :] += 0.005
    assert loudest_above_14_khz_db(sound) > -80
