"""Where tracks lie in a recording into which none of them leaked: by what was played.

How strongly each written pitch sounds is laid against when it is due. The recording is gone through
once for all tracks, a minute at a time, and of each track the best place is kept.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from playalong.performance.clock import SAMPLE_RATE_HZ
from playalong.performance.timeline import Timeline, TimelineNote
from playalong.take.clock import OnTrackClock, spectra
from playalong.take.filters import convolved
from playalong.take.recording import Sounds
from playalong.take.spectra import HOP_FRAMES, Floats, window_frames
from playalong.take.sweeps import Placed

STEP_HOPS = 4  # in a place; nearer the notes themselves tell
STEP_SECONDS = STEP_HOPS * HOP_FRAMES / SAMPLE_RATE_HZ
BLOCK_STEPS = 2584  # a minute
PART_STEPS = 64  # 1.5 seconds, of which spectra are in memory
AROUND_CENTS = np.arange(-40.0, 41.0, 10.0)
QUIET = 0.3  # of what usually sounds; below it nothing is made of silence


def by_playing(recording: Sounds, timelines: Sequence[Timeline]) -> list[Placed]:
    """Of each timeline, where it lies best and how clearly so, in standard deviations."""
    written = [[note for note in each.notes if not note.is_given] for each in timelines]
    pitches = sorted({note.hz for notes in written for note in notes})
    rows = [sorted({pitches.index(note.hz) for note in notes}) for notes in written]
    due = [
        _due(notes, [pitches[row] for row in own], timeline.seconds)
        for notes, own, timeline in zip(written, rows, timelines, strict=True)
    ]
    steps = int(recording.frames / recording.rate_hz / STEP_SECONDS) + 1
    laid = [Laid(each[:, ::-1]) for each in due]
    usual = 0.0
    for start in range(0, steps, BLOCK_STEPS):
        heard = _strengths(recording, pitches, start, min(start + BLOCK_STEPS, steps))
        total = heard.sum(0)
        usual = max(usual, float(np.median(total)))
        heard /= total + QUIET * usual + 1e-9
        for own, each in zip(rows, laid, strict=True):
            each.add(heard[own])
    return [each.best() for each in laid]


class Laid:
    """Notes laid against a recording, part by part: of all places, the best one is kept."""

    def __init__(self, backwards: Floats) -> None:
        """Which pitches are due in each step, (pitches, steps), the last first."""
        self.backwards = backwards
        self.rest = np.zeros(backwards.shape[1] - 1)  # to which later parts will add
        self.places, self.sum, self.squares = 0, 0.0, 0.0
        self.most, self.at = -np.inf, 0

    def add(self, heard: Floats) -> None:
        """The next part, (pitches, steps)."""
        found = convolved(heard, self.backwards).sum(0)
        found[: len(self.rest)] += self.rest
        self._look(found[: heard.shape[1]])
        self.rest = found[heard.shape[1] :]

    def best(self) -> Placed:
        """How clear it is counts in standard deviations from the mean of all places."""
        self._look(self.rest)
        mean = self.sum / self.places
        deviation = np.sqrt(max(self.squares / self.places - mean**2, 0.0))
        clear = float((self.most - mean) / (deviation + 1e-12))
        return Placed((self.at - len(self.rest)) * STEP_SECONDS, None, "playing", clear)

    def _look(self, likeness: Floats) -> None:
        if len(likeness) and likeness.max() > self.most:
            self.most, self.at = float(likeness.max()), self.places + int(likeness.argmax())
        self.places += len(likeness)
        self.sum += float(likeness.sum(dtype=float))
        self.squares += float(np.square(likeness, dtype=float).sum())


def _due(notes: Sequence[TimelineNote], pitches: Sequence[float], seconds: float) -> Floats:
    """Which of the pitches is written when, (pitches, steps); in the mean nothing."""
    due = np.zeros((len(pitches), int(seconds / STEP_SECONDS) + 1), np.float32)
    for note in notes:
        first, last = int(note.from_seconds / STEP_SECONDS), int(note.to_seconds / STEP_SECONDS)
        due[pitches.index(note.hz), first:last] = 1
    return np.asarray(due - due.mean(0))


def _strengths(recording: Sounds, pitches: Sequence[float], start: int, stop: int) -> Floats:
    """Of each pitch in each step of a stretch, (pitches, steps)."""
    sound = OnTrackClock(recording, Placed(0.0, None, "playing", 0.0))
    window = window_frames(pitches[0])
    cents = (1200 * np.log2(np.array(pitches) / pitches[0]))[:, None] + AROUND_CENTS
    found = []
    for first in range(start, stop, PART_STEPS):
        steps = min(PART_STEPS, stop - first)
        at = (first + 1e-6) * STEP_SECONDS
        seen = spectra(sound, at, at + steps * STEP_SECONDS, window)
        comb = seen.comb(cents.ravel(), pitches[0], slice(0, steps * STEP_HOPS))
        strongest = comb.reshape(-1, *cents.shape).max(2)
        found.append(strongest.reshape(steps, STEP_HOPS, len(pitches)).mean(1).T)
    return np.asarray(np.maximum(np.concatenate(found, 1), 0))
