"""When nothing is told of a take but one sentence: better no report than a false one."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass

import numpy as np

from playalong.errors import PlayalongError
from playalong.take import model
from playalong.take.model import Heard
from playalong.take.recording import Sounds

LEAST_SECONDS = 4.0
SILENT = 10 ** (-65 / 20)  # peak of full scale
CLIPPED_RUN = 3  # samples at the top, one after the other
CLIPPED_RUNS = 20
BLOCK_SECONDS = 10


class TakeError(PlayalongError):
    """A recording of which nothing true can be told."""


@dataclass(frozen=True)
class Survey:
    """A recording as a whole."""

    seconds: float
    peak: float  # of full scale
    clipped_runs: int

    @property
    def remarks(self) -> tuple[str, ...]:
        if self.clipped_runs < CLIPPED_RUNS:
            return ()
        return (
            "The recording is clipped: its input was too loud. Pitches hold all the same; next "
            "time turn it down or move the microphone away.",
        )


def survey(recording: Sounds, name: str) -> Survey:
    """Length, peak and clipping, read once in blocks. TakeError for silence and for a snippet."""
    step = BLOCK_SECONDS * recording.rate_hz
    peak, runs = 0.0, 0
    for start in range(0, recording.frames, step):
        block = np.abs(recording.read(start, min(start + step, recording.frames)))
        top = float(block.max(initial=0.0))
        peak = max(peak, top)
        at_top = block >= max(0.999 * top, 0.5)
        ends = np.flatnonzero(np.diff(np.concatenate([[False], at_top, [False]]).astype(int)))
        runs += int((np.diff(ends)[::2] >= CLIPPED_RUN).sum())
    seconds = recording.frames / recording.rate_hz
    if seconds < LEAST_SECONDS:
        raise TakeError(
            f"{name} lasts {seconds:.1f} seconds, which is too short to tell anything; record from "
            "before the count-in to the end of the track"
        )
    if peak < SILENT:
        raise TakeError(f"{name} is silent; look which microphone was recorded")
    return Survey(seconds, peak, runs)


def checked(heard: Heard, name: str) -> Heard:
    """The same, unless it is likelier that something else was played. TakeError says what."""
    counts = Counter(note.verdict for note in heard.notes)
    inside = len(heard.notes) - counts[model.OUTSIDE]
    judged, others = counts[model.JUDGED], counts[model.ANOTHER]
    if inside == 0:
        raise TakeError(f"{name} holds no note of this track; it was stopped before, or cut")
    if heard.placed.how == "playing" and (judged < max(0.4 * inside, 4) or judged < 2 * others):
        raise TakeError(
            f"{name}: neither the track's count-in nor its notes are found in it. Let the track be "
            "heard a little in the recording, start it before the count-in, or name the right track"
        )
    if others >= 4 and others > judged:
        raise TakeError(
            f"{name} does not sound like this track: {others} of {judged + others} notes are "
            "others. Name the track that was played"
        )
    return heard
