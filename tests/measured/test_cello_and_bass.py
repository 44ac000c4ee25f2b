"""The voices of cello and bass over the ranges of their hands: notes, slides, measured as sound.

The cello up to A5 in thumb position, the bass from F sharp 1 to G4 as it sounds.
"""

from __future__ import annotations

import numpy as np
import pytest
from chain import Played, play
from measure import praat_cents_off
from test_slides import followed, half_time_late

NOTE_CENTS, SLIDE_CENTS = 0.5, 5.0
CASES = [
    ("cello", "C major", "C: p1: 1 p4: 1"),
    ("cello", "D major", "D: p1: 1 p4: 3"),
    ("cello", "A minor", "A: p4: 1 p6: 1"),
    ("cello", "D major", "A: t7: T t11: T"),
    ("cello", "C major", "A: t7: 3 t11: 3"),
    ("bass", "A minor", "E: p1n: 1 p4n: 1"),
    ("bass", "D major", "A: p1: 1 p4: 4"),
    ("bass", "G major", "G: p4: 1 p6: 1"),
    ("bass", "G major", "G: t7: 3 t11: 3"),
]
HIGHEST = {"cello": "A5", "bass": "G5"}  # as they are read; the bass sounds an octave lower


@pytest.fixture(scope="module", params=CASES, ids=lambda case: " ".join(case))
def played(request: pytest.FixtureRequest) -> Played:
    instrument, key, bar = request.param
    return play(bar, instrument=instrument, key=key, note='"half"', passes="2", bpm=60)


def test_its_notes_are_true_to_half_a_cent(played: Played) -> None:
    starts = [slide["from"] for slide in played.slides]
    heard = 0
    for note in played.notes:
        end = min([note["to"], *(start for start in starts if start > note["from"] + 0.1)])
        first, last = note["from"] + 0.15, end - 0.05
        if last - first < 0.4 or any(s["from"] < last and s["to"] > first for s in played.slides):
            continue
        off = praat_cents_off(played.voice(first, last), first, last, note["hz"])
        assert abs(float(np.mean(off))) < NOTE_CENTS, note
        heard += 1
    assert heard >= 3


def test_its_slides_keep_within_5_cents_of_their_curve(played: Played) -> None:
    assert played.slides
    for slide in played.slides:
        at, hz, off = followed(played, slide)
        start, end = slide["from"], slide["to"]
        points = np.arange(start + 0.1 * (end - start), end - 0.1 * (end - start), 0.005)
        assert np.abs(np.interp(points, at, off)).max() < SLIDE_CENTS, slide
        assert abs(half_time_late(slide, at, hz, off)) < 0.003, slide


@pytest.mark.parametrize("instrument", HIGHEST)
def test_the_cases_reach_the_top_of_the_hand(instrument: str) -> None:
    names = {
        note["pitch"]
        for name, key, bar in CASES
        if name == instrument
        for note in play(bar, instrument=name, key=key, note='"half"').timeline["notes"]
    }
    assert HIGHEST[instrument] in names
