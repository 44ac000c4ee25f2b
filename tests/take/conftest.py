"""A track, and recorded notes to play it with."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache

import numpy as np
import pytest
from numpy.typing import NDArray
from played import Condition, Take, take_of
from playing import play
from recorded import Recorded, bank_notes

from playalong.performance.timeline import Timeline
from playalong.performance.timing import timeline_of
from playalong.sound.stems import render
from playalong.take.listen import listen_to
from playalong.take.model import Heard

Track = tuple[Timeline, NDArray[np.float32]]
Playing = Callable[..., tuple[Take, Heard]]
BAR = "p1: 1 2 p3: 1 2"


@pytest.fixture(scope="session")
def recorded() -> list[Recorded]:
    return bank_notes()


@pytest.fixture(scope="session")
def track() -> Track:
    """Six bars of quarter notes in D major with shifts of the same finger."""
    more = 'strings = ["D"]\nkeys = ["D major"]\nclimb = 3\nnote = "quarter"\n'
    performance = play(BAR, more, bpm=72, stage="answer")
    return timeline_of(performance), render(performance)


@pytest.fixture(scope="session")
def playing(recorded: list[Recorded], track: Track) -> Playing:
    """A take under a condition, and what is heard of it."""

    @cache
    def play_and_listen(seed: int = 1, **condition: object) -> tuple[Take, Heard]:
        timeline, sound = track
        take = take_of(timeline, sound, recorded, Condition("", **condition), seed)
        return take, listen_to(take.sound.astype(np.float32), sound, timeline)

    return play_and_listen
