"""A recording of an evening takes no more memory than one of minutes."""

from __future__ import annotations

import json
import tracemalloc
from dataclasses import dataclass

import numpy as np
import pytest
from numpy.typing import NDArray
from recorded import RATE_HZ

from playalong.cli.take import _as_list
from playalong.performance.timeline import Timeline
from playalong.take.clock import OnTrackClock
from playalong.take.doubt import survey
from playalong.take.find import _leaks
from playalong.take.playing import STEP_SECONDS, Laid
from playalong.take.recording import Samples, Sounds
from playalong.take.sweeps import Placed, find_peaks, starts

MB = 1e6


@dataclass(frozen=True)
class Evening:
    """One take again and again, of which nothing is kept but the take."""

    take: Samples
    minutes: float
    rate_hz: int = RATE_HZ

    @property
    def frames(self) -> int:
        return round(self.minutes * 60 * self.rate_hz)

    def read(self, start: int, stop: int) -> Samples:
        at = np.arange(start, stop)
        read: NDArray[np.float32] = self.take[at % len(self.take)]
        return np.where((at >= 0) & (at < self.frames), read, np.float32(0))


def most_mb(work, *of) -> float:
    tracemalloc.start()
    try:
        work(*of)
        return tracemalloc.get_traced_memory()[1] / MB
    finally:
        tracemalloc.stop()


@pytest.fixture(scope="module")
def evening(playing):
    """Of so many minutes."""
    take, _ = playing()
    sound = take.sound.astype(np.float32)
    return lambda minutes: Evening(sound, minutes)


def survey_it(sounds: Sounds, track) -> None:
    survey(sounds, "evening.wav")


def find_sweeps(sounds: Sounds, track) -> None:
    timeline, own = track
    found = starts(find_peaks(sounds, own), timeline)
    assert len(found) >= sounds.frames / RATE_HZ // 60


@pytest.mark.parametrize("work", [survey_it, find_sweeps])
def test_four_times_as_long_a_recording_takes_no_megabyte_more(evening, track, work):
    work(evening(0.3), track)  # what is imported on the way is not counted
    short, long = (most_mb(work, evening(each), track) for each in (0.6, 2.4))
    assert long < short + 1


def laid_against(due: NDArray[np.float64], parts: int) -> Laid:
    rng, laid = np.random.default_rng(1), Laid(due[:, ::-1])
    for _ in range(parts):
        laid.add(rng.random((len(due), 500)))
    return laid


def test_an_evening_is_laid_against_notes_in_the_room_of_its_first_minutes():
    due = np.random.default_rng(2).random((8, 700))
    short, long = (most_mb(laid_against, due, parts) for parts in (4, 400))
    assert long < short + 0.1


def test_notes_laid_part_by_part_lie_where_they_lie_best_in_the_whole():
    due = np.random.default_rng(2).random((3, 700))  # longer than a part
    heard = np.random.default_rng(1).random((4, 3, 500))
    whole = sum(np.correlate(*rows, "full") for rows in zip(np.hstack(heard), due, strict=True))
    found = laid_against(due, 4).best()
    assert found.offset_seconds == pytest.approx((np.argmax(whole) - 699) * STEP_SECONDS)
    assert found.strength == pytest.approx((whole.max() - whole.mean()) / whole.std())


@dataclass(frozen=True)
class Stage:
    """What is asked of a track."""

    timeline: Timeline
    sound: Samples

    def read_sound(self, seconds: float) -> Samples:
        return self.sound[: round(seconds * RATE_HZ)] * np.float32(0.5)


def test_a_track_more_to_tell_apart_takes_little_more_than_its_own_sound(evening, track):
    timeline, own = track
    sound = OnTrackClock(evening(1), Placed(0.0, None, "count-in", 9.0))
    others = [Stage(timeline, own * np.float32(1 + number)) for number in range(6)]
    _leaks(sound, others[:2])
    short, long = (most_mb(_leaks, sound, others[:number]) for number in (2, 6))
    assert long - short < 4 * 4  # of 15 to 25 s


def test_a_list_of_takes_is_written_as_json_writes_it():
    for takes in ([], [{"a": [1, "é\n"], "b": {}}], [{"a": None}, {"b": []}]):
        texts = [json.dumps(each, ensure_ascii=False, indent=1) for each in takes]
        assert _as_list(texts) == json.dumps(takes, ensure_ascii=False, indent=1)
