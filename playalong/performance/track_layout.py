"""What stands around the guide in every stage: count-in, click, drone and close."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from itertools import repeat
from math import ceil

from playalong.drill.stage import Stage
from playalong.music.pitch import Pitch
from playalong.performance.clock import Clock
from playalong.performance.performance import Click, Drone, Pass
from playalong.score.model import Score, StartingPosition

SHORTEST_CLOSE_SECONDS = 1  # room for the last sweep and the drone's fading
CLOSING_SWEEPS = 2


@dataclass(frozen=True)
class TrackLayout:
    """The bars of a track, in quarters from its first frame."""

    score: Score
    clock: Clock
    passes: int  # of each starting position
    climb: tuple[StartingPosition, ...]  # those that the track plays

    @property
    def count_in(self) -> int:
        return self.score.drill.click.count_in

    @property
    def bar(self) -> Fraction:
        return self.score.drill.meter.bar

    @property
    def music_start(self) -> Fraction:
        return self.count_in * self.bar

    @property
    def music_length(self) -> Fraction:
        """From the first beat to the end of the last bar; a gap only stands between passes."""
        count = len(self.climb) * self.passes
        return count * self.score.pass_length + (count - 1) * self.score.drill.gap * self.bar

    @property
    def music_end(self) -> Fraction:
        return self.music_start + self.music_length

    @property
    def end(self) -> Fraction:
        """Whole bars after the music: two beats for the closing sweeps, and a second at least."""
        beats = CLOSING_SWEEPS * self.score.drill.meter.beat
        needed = max(beats, self.clock.quarters(SHORTEST_CLOSE_SECONDS))
        return self.music_end + ceil(needed / self.bar) * self.bar

    def played(self) -> Iterator[Pass]:
        """Every playing of the written bars, in order."""
        start = self.music_start
        for count, stand in enumerate(self.climb):
            first = stand.notes if count else stand.fresh
            for number, notes in enumerate((first, *repeat(stand.again, self.passes - 1)), 1):
                yield Pass(stand, number, start, notes)
                start += self.score.drill.stride

    @property
    def drone_start(self) -> Fraction:
        """The drone enters with the last bar of the count-in; halfway if that is the only one."""
        return (self.count_in - 1) * self.bar if self.count_in > 1 else self.bar / 2

    @property
    def given_end(self) -> Fraction:
        """Where the first note, given softly with the drone, stops."""
        return self.drone_start + (self.bar / 2 if self.count_in > 1 else self.bar / 4)

    def clicks(self, stage: Stage) -> Iterator[Click]:
        meter, every = self.score.drill.meter, self.score.drill.click.every
        for bar in range(self.count_in):
            for beat in range(meter.beats):
                at = bar * self.bar + beat * meter.beat
                yield Click(at, beat == 0, count_in=True, sweep=bar == 0)
        if stage.click and every != "off":
            span = meter.span(every)
            for count in range(int(self.music_length / span)):
                at = self.music_start + count * span
                yield Click(at, (count * span) % self.bar == 0)
        for beat in range(CLOSING_SWEEPS):
            yield Click(self.music_end + beat * meter.beat, beat == 0, sweep=True)

    def drone(self, stage: Stage) -> Drone | None:
        pitches = drone_pitches(self.score) if stage.drone else ()
        if not pitches:
            return None
        hz = tuple(hz for _, hz in pitches)
        return Drone(self.drone_start, self.music_end, tuple(pitch for pitch, _ in pitches), hz)


def tonic(score: Score) -> Pitch:
    """The lowest tonic at or above the lowest string, moved by the drone's octave; sounding."""
    low = score.board.sounding_key.tonic_at_or_above(score.instrument.lowest)
    return low.octaves_up(score.drill.drone.octave)


def drone_pitches(score: Score) -> tuple[tuple[Pitch, float], ...]:
    """The drone's pitches and their frequencies, sounding; none where it is off."""
    on, octave = score.drill.drone.on, score.drill.drone.octave
    if on == "off":
        return ()
    if on.startswith("open "):
        string = on.removeprefix("open ")
        pitch = score.instrument.string(string).octaves_up(octave)
        return ((pitch, score.board.open_hz(string) * 2**octave),)
    low = tonic(score)
    if on == "tonic":
        chosen = [low]
    elif on == "tonic and fifth":
        chosen = [low, _fifth_above(low)]
    else:
        chosen = [score.instrument.as_sounding(Pitch.of(on)).octaves_up(octave)]
    return tuple((pitch, score.board.hz(pitch)) for pitch in chosen)


def _fifth_above(pitch: Pitch) -> Pitch:
    above = Pitch(pitch.index + 4, pitch.alter)
    return Pitch(above.index, above.alter + pitch.key_number + 7 - above.key_number)
