"""Ghost notes: sounded in their own place and true, light on the beat, silent without a trace."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from chain import GHOST, GUIDE, Played, play
from measure import (
    cents,
    curve_hz,
    cut,
    envelope,
    followed_cents_off,
    level_db,
    onset,
    praat_cents_off,
    strongest_partial,
)
from scipy.ndimage import minimum_filter1d

from playalong.drill.stage import Stage

BAR = "p1: 1 p3: 3 | p5: 4 p2: 1"
CASES = [
    {"instrument": "violin", "string": "D", "key": "C major"},
    {"instrument": "violin", "string": "G", "key": "Bb major", "tuning__temperament": '"just"'},
    {"instrument": "viola", "string": "C", "key": "D major", "tuning__a4": "415"},
    {"instrument": "viola", "string": "A", "key": "E harmonic minor"},
]
RINGING_FRAMES = 2 * 900  # 20 ms to either side: three times 1/e of the narrowest resonance
EDGE_FRAMES = 900  # where the filter that follows a partial has no neighbours
WITHOUT = Stage("without", ("full",), slides="none", ghosts="silent")


def shifts(case: dict[str, Any], stage: str | Stage, bpm: int = 60, bow: str = "bar") -> Played:
    lead = '"old finger"'
    return play(
        BAR, bpm, stage, note='"half"', bow=f'"{bow}"', passes="2", slide__lead=lead, **case
    )


def ghosts(played: Played) -> list[dict[str, Any]]:
    return [n for n in played.timeline["notes"] if n["role"] == "ghost" and n["sounds"]]


@pytest.mark.parametrize("case", CASES)
@pytest.mark.parametrize("bow", ["note", "bar"])
def test_a_sounded_ghost_stands_in_its_own_place_within_half_a_cent(
    case: dict[str, Any], bow: str
) -> None:
    played = shifts(case, "listen", bow=bow)
    guide, ghost = played.sound(*GUIDE), played.sound(*GHOST)
    assert len(ghosts(played)) == 6
    for note in ghosts(played):
        length = note["to"] - note["from"]
        assert length == pytest.approx(0.5, abs=0.002)  # a quarter of a half note at 60
        off = praat_cents_off(guide, note["from"] + 0.06, note["to"], note["hz"])
        assert abs(np.median(off)) < 0.5, note
        heard = onset(envelope(ghost, note["hz"]), note["from"] - 0.05, note["to"] - 0.02)
        assert abs(heard - note["from"]) < 0.005, note
        assert level_db(cut(ghost, note["from"] - 0.2, note["from"])) < -90
        assert level_db(cut(ghost, note["to"] + 0.08, note["to"] + 0.2)) < -90


@pytest.mark.parametrize("case", CASES)
def test_a_sounded_ghost_is_no_louder_than_the_notes_beside_it_and_is_heard(
    case: dict[str, Any],
) -> None:
    """At most as loud as the louder of the two, at least 6 dB below the softer; its own
    colour within 24 dB of the guide's tone.
    """
    played = shifts(case, "listen")
    guide, ghost = played.sound(*GUIDE), played.sound(*GHOST)
    for note in ghosts(played):
        place = (note["from"] + 0.06, note["to"] - 0.02)
        before = [n for n in played.notes if n["from"] < note["from"]][-1]
        beside = [
            level_db(cut(guide, before["from"] + 0.1, before["from"] + 0.5)),
            level_db(cut(guide, note["to"] + 0.1, note["to"] + 0.5)),
        ]
        assert min(beside) - 6 < level_db(cut(guide, *place)) <= max(beside), note
        assert level_db(cut(ghost, *place)) > level_db(cut(guide, *place)) - 24, note


@pytest.mark.parametrize("case", CASES)
def test_a_light_ghost_is_reached_on_the_beat_and_left_at_once(case: dict[str, Any]) -> None:
    played = shifts(case, "answer")
    guide = played.sound(*GUIDE)
    assert level_db(played.sound(*GHOST)) < -150
    assert len(played.slides) == 3
    for slide in played.slides:
        (ghost,) = [n for n in ghosts(played) if n["from"] == slide["to"]]
        assert ghost["to"] == ghost["from"]
        (landing,) = [n for n in played.notes if n["from"] == slide["to"]]
        reached = cents(float(curve_hz(slide["curve"])(np.array([slide["to"]]))[0]), ghost["hz"])
        assert abs(reached) < 0.01
        end = landing["from"] + 0.6
        off = praat_cents_off(guide, landing["from"] + 0.15, end, landing["hz"])
        assert abs(np.median(off)) < 0.5


@pytest.mark.parametrize("case", CASES)
def test_without_ghosts_only_the_two_notes_are_heard_around_a_landing(
    case: dict[str, Any],
) -> None:
    """Each of the guide's channels, as long as it sounds, stands on its own note."""
    played = shifts(case, WITHOUT)
    assert level_db(played.sound(*GHOST)) < -150
    assert not played.slides
    for old, new in zip(played.notes, played.notes[1:], strict=False):
        for note, first, last in (
            (old, new["from"] - 0.2, new["from"] + 0.2),
            (new, new["from"] - 0.05, new["from"] + 0.4),
        ):
            voice = played.voice(note["from"] + 0.2, note["to"] - 0.2)
            held = cut(voice, note["from"] + 0.2, note["from"] + 0.4)
            off, strength = followed_cents_off(
                cut(voice, first, last),
                lambda seconds, hz=note["hz"]: np.full(len(seconds), hz),
                strongest_partial(held, note["hz"]),
            )
            inside = slice(EDGE_FRAMES, -EDGE_FRAMES)
            off, strength = off[inside], strength[inside]
            # Neither just beginning nor dying away, where the body rings in its own pitch.
            sounds = minimum_filter1d(strength, RINGING_FRAMES) > 0.5 * strength.max()
            assert np.abs(off[sounds]).max() < 5, (note, new)
