"""Which stage was played to, by what only it sounds: tones made here, under a player ten times as
loud who plays the same notes."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import pytest
from numpy.typing import NDArray
from recorded import RATE_HZ
from takes_by_hand import heard_of

from playalong.performance.timeline import Timeline
from playalong.take.clock import OnTrackClock
from playalong.take.recording import InMemory
from playalong.take.stage import heard_stage, only, softest
from playalong.take.sweeps import Placed

PITCHES = ["E4", "F#4", "G4", "A4", "E4", "G4", "F#4", "B4"]
SOUNDING = {"all": range(8), "half of them": range(4), "some late": (1, 6), "none": ()}
LATE_SECONDS = 0.5
LEAK = 0.1


@dataclass(frozen=True)
class Track:
    timeline: Timeline
    sound: NDArray[np.float32]

    def read_sound(self, seconds: float) -> NDArray[np.float32]:
        return self.sound[: round(seconds * RATE_HZ)]


def tone(hz: float, seconds: float, seed: int) -> NDArray[np.float64]:
    """Partials and the noise of a bow."""
    t, rng = np.arange(round(seconds * RATE_HZ)) / RATE_HZ, np.random.default_rng(seed)
    phases = rng.uniform(0, 2 * np.pi, 12)
    partials = sum(np.sin(2 * np.pi * n * hz * t + phases[n - 1]) / n for n in range(1, 13))
    return partials + 0.1 * rng.standard_normal(len(t))


@pytest.fixture(scope="module")
def stages() -> dict[str, Track]:
    made = {}
    for name, sounding in SOUNDING.items():
        timeline = heard_of([0.0] * 8, pitches=PITCHES).timeline
        sound = 0.5 * tone(146.83, 8, 99)
        notes = []
        for number, note in enumerate(timeline.notes):
            late = LATE_SECONDS if name == "some late" else 0.0
            if number in sounding:
                at = round((number + late) * RATE_HZ)
                sound[at : (number + 1) * RATE_HZ] += tone(note.hz, 1 - late, number)
            heard_from = number + late if late and number in sounding else None
            notes.append(replace(note, sounds=number in sounding, heard_from_seconds=heard_from))
        made[name] = Track(replace(timeline, notes=tuple(notes)), sound.astype(np.float32))
    return made


@pytest.mark.parametrize("name", SOUNDING)
def test_a_stage_is_told_by_what_only_it_sounds_and_the_softest_by_nothing(stages, name):
    played = stages[name]
    player = [tone(note.hz * 1.002, 1, 50 + n) for n, note in enumerate(played.timeline.notes)]
    sound = np.concatenate(player).astype(np.float32) + LEAK * played.sound
    clock = OnTrackClock(InMemory(sound, RATE_HZ), Placed(0.0, None, "both", 40.0))
    found = heard_stage(clock, list(stages.values()))
    assert found == (None if name == "none" else list(SOUNDING).index(name))


def test_only_what_no_softer_stage_has_begun_to_sound_is_its_own(stages):
    timelines = {name: stage.timeline for name, stage in stages.items()}
    half, late, none = (timelines[name] for name in ("half of them", "some late", "none"))
    assert only(half, [late, none]) == [(0, 1), (1, 1.5), (2, 3), (3, 4)]
    assert only(late, [none]) == [(1.5, 2), (6.5, 7)]
    assert softest(list(stages.values())) is stages["none"]
