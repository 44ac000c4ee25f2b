"""Which stage of a track was played to: stages ask for the same notes, but not all sound them.

Where one stage sounds and every softer one is silent, its own sound is sought in the recording by
cross-correlation after whitening (generalized, with phase transform; Knapp and Carter 1976). The
track's place is known from its sweeps, so its sound can lie at no other lag than nought; what the
player adds has no lag of its own.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Protocol, TypeVar

import numpy as np
from numpy.typing import NDArray

from playalong.performance.clock import SAMPLE_RATE_HZ
from playalong.performance.timeline import Timeline
from playalong.take.clock import OnTrackClock, spectra
from playalong.take.recording import InMemory, Samples

WINDOW = 2048
LOOKED_AT_SECONDS = 12.0
NEAR_LAG = 11  # frames: a quarter of a millisecond
CLEAR = 8.5  # times as strong as at other lags; below 7.1 where it does not sound (measured)
LEAST_SECONDS = 0.05
Span = tuple[float, float]
SAME_HZ = 2 ** (20 / 1200)


class Stage(Protocol):
    """A track of one stage."""

    @property
    def timeline(self) -> Timeline: ...

    def read_sound(self, seconds: float) -> Samples:
        """Its beginning: mono, at 44.1 kHz."""
        ...


Kind = TypeVar("Kind", bound=Stage)


def heard_stage(recording: OnTrackClock, stages: Sequence[Stage]) -> int | None:
    """The place of the stage whose own sound is heard, None where none can be told from the others.

    The softest stage sounds nothing of its own, so it is never told by this.
    """
    order = sorted(range(len(stages)), key=lambda n: -_sounding_seconds(stages[n].timeline))
    for place, number in enumerate(order):
        softer = [stages[each] for each in order[place + 1 :]]
        spans = only(stages[number].timeline, [each.timeline for each in softer])
        if softer and spans and _clear(recording, stages[number], softer[0], spans) >= CLEAR:
            return number
    return None


def softest(stages: Sequence[Kind]) -> Kind:
    """The stage that leaves most to the player."""
    return min(stages, key=lambda each: _sounding_seconds(each.timeline))


def only(louder: Timeline, softer: Iterable[Timeline]) -> list[Span]:
    """Where a timeline sounds a note that none of the others has begun to sound."""
    others = [span for each in softer for span in _sounding(each)]
    found = []
    for start, end, hz in _sounding(louder):
        begun = [
            begins
            for begins, ends, other_hz in others
            if begins < end and ends > start and 1 / SAME_HZ < other_hz / hz < SAME_HZ
        ]
        until = min([end, *begun])
        if until - start > LEAST_SECONDS:
            found.append((start, until))
    return found


def _sounding(timeline: Timeline) -> list[tuple[float, float, float]]:
    return [
        (note.heard_from_seconds or note.from_seconds, note.to_seconds, note.hz)
        for note in timeline.notes
        if note.sounds
    ]


def _sounding_seconds(timeline: Timeline) -> float:
    return sum(end - start for start, end, _ in _sounding(timeline))


def _clear(recording: OnTrackClock, louder: Stage, softer: Stage, spans: Iterable[Span]) -> float:
    """How clearly what only the louder stage sounds stands out at no lag, of all lags."""
    looked_at = _first(spans)
    until = looked_at[-1][1] + 1.0
    more, less = (InMemory(each.read_sound(until), SAMPLE_RATE_HZ) for each in (louder, softer))
    across = np.zeros(WINDOW // 2 + 1, complex)
    for start, end in looked_at:
        heard, own, common = (
            spectra(each, start, end, WINDOW).values for each in (recording, more, less)
        )
        across += (whitened(heard) * np.conj(whitened(own - common))).sum(0)
    return standing_out(across, NEAR_LAG + 1, NEAR_LAG)


def _first(spans: Iterable[Span]) -> list[Span]:
    """As many as are looked at."""
    kept, seconds = [], 0.0
    for start, end in sorted(spans):
        if seconds < LOOKED_AT_SECONDS:
            kept.append((start, end))
            seconds += end - start
    return kept


def standing_out(across: NDArray[np.complex128], ahead: int, behind: int) -> float:
    """The highest answer at so many lags from nought on and before it, against all other lags.

    `across` is a spectrum times another's conjugate, both whitened.
    """
    answer = np.abs(np.fft.irfft(across))
    near = np.concatenate([answer[:ahead], answer[-behind:]])
    others = np.sqrt(np.mean(answer[ahead:-behind] ** 2)) + 1e-12
    return float(near.max() / others)


def whitened(values: NDArray[np.complex64]) -> NDArray[np.complex64]:
    """Spectra in which each frequency counts as much, but for what is almost silent."""
    size = np.abs(values)
    floor = 0.01 * size.max(axis=1, keepdims=True) + 1e-9
    return np.asarray(values / (size + floor))
