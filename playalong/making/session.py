"""Sessions: one hands-free file of a rung's stages, or of the whole climb, with rests between.

A track that would last longer than the player may play at a stretch is given in parts, each
some starting positions of the climb with a count-in of its own.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from math import ceil

from playalong.drill.model import Drill
from playalong.making.plan import Options, RungPlan, TrackPlan, track_seconds
from playalong.performance.clock import BLOCK_FRAMES, SAMPLE_RATE_HZ
from playalong.performance.perform import perform
from playalong.performance.performance import Performance

MOST_TAPS = 4
TAP_QUARTERS = 1  # at 120 a minute, the tempo of a file that states none
TAP_TAIL_SECONDS = 1.5


@dataclass(frozen=True)
class Stretch:
    """A track, or some starting positions of one, that is played without a rest."""

    rung: RungPlan
    track: TrackPlan
    stands: slice = field(default_factory=lambda: slice(None))  # of the climb
    taps: int = 0  # before it

    @property
    def is_whole(self) -> bool:
        return self.stands == slice(None)

    def performance(self) -> Performance:
        return perform(self.rung.score, self.rung.bpm, self.track.stage, stands=self.stands)


@dataclass(frozen=True)
class Part:
    """A stretch as it sounds."""

    track: TrackPlan
    performance: Performance
    gain: float
    taps: int
    is_whole: bool  # and so the sound of the track's own file


@dataclass(frozen=True)
class Scene:
    """A stretch of blocks in the file: taps, sound or rest."""

    blocks: int
    part: Part | None = None
    taps: int = 0


def session_parts(
    drill: Drill, rungs: Sequence[RungPlan], gains: Mapping[RungPlan, float], options: Options
) -> Iterator[Part]:
    """The parts of a session in order; `gains` are what the rungs were made with."""
    for each in stretches(drill, rungs, options):
        yield Part(each.track, each.performance(), gains[each.rung], each.taps, each.is_whole)


def stretches(drill: Drill, rungs: Sequence[RungPlan], options: Options) -> Iterator[Stretch]:
    """What a session plays, in order, none longer than a player may play if that can be."""
    chosen = list(rungs) if options.whole_ladder else list(rungs[:1])
    for rung in chosen:
        for number, track in enumerate(rung.tracks):
            yield from _in_parts(drill, rung, track, number)
    if drill.session.home:
        yield from _in_parts(drill, chosen[0], chosen[0].tracks[0], 0)


def _in_parts(drill: Drill, rung: RungPlan, track: TrackPlan, number: int) -> Iterator[Stretch]:
    taps = min(number + 1, MOST_TAPS) if drill.session.taps else 0
    stands = len(rung.score.climb)
    parts = [slice(None)]
    for count in range(2, stands + 1):
        lengths = (track_seconds(rung.score, rung.bpm, track.stage, part) for part in parts)
        if max(lengths) <= 60 * drill.session.play:
            break
        size = ceil(stands / count)  # parts are as even as whole starting positions make them
        parts = [slice(at, at + size) for at in range(0, stands, size)]
    for part in parts:
        yield Stretch(rung, track, part, taps)


def scenes(drill: Drill, parts: Sequence[Part]) -> Iterator[Scene]:
    """What follows what: taps and sound of each part, with rests between."""
    rest = round(60 * drill.session.rest * SAMPLE_RATE_HZ / BLOCK_FRAMES)
    for number, part in enumerate(parts):
        if number and rest:
            yield Scene(rest)
        if part.taps:
            seconds = part.taps * TAP_QUARTERS / 2 + TAP_TAIL_SECONDS
            yield Scene(round(seconds * SAMPLE_RATE_HZ / BLOCK_FRAMES), taps=part.taps, part=part)
        yield Scene(part.performance.blocks, part=part)
