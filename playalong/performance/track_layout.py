"""What stands around the guide in every stage: count-in, click, drone and close."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise, repeat
from math import ceil

from playalong.drill.stage import Stage
from playalong.music.key import Key
from playalong.music.pitch import Pitch
from playalong.performance.clock import Clock
from playalong.performance.performance import Click, Drone, Pass, PlayedBar
from playalong.score.model import Score, StartingPosition

SHORTEST_CLOSE_SECONDS = 1  # room for the last sweep and the drone's fading
CLOSING_SWEEPS = 2
FIFTH = (4, 7)  # letters and semitones


def clock_of(score: Score, bpm: int) -> Clock:
    """The clock of a score at so many beats a minute, fine enough for all that is written."""
    notes = score.climb[0].notes
    times = (note.start + part for note in notes for part in (Fraction(0), note.length, *note.ties))
    return Clock.at(bpm * score.drill.meter.beat, times)


@dataclass(frozen=True)
class TrackLayout:
    """The bars of a track, in quarters from its first frame."""

    score: Score
    clock: Clock
    passes: int  # of each starting position
    climb: tuple[StartingPosition, ...]  # those that the track plays

    @property
    def bar(self) -> Fraction:
        return self.score.drill.meter.bar

    @property
    def upbeat(self) -> Fraction:
        return self.score.drill.upbeat_length

    @property
    def count_in(self) -> int:
        """Bars that lead in. An upbeat stands in the last of them, or in one more if it is long."""
        return self.score.drill.click.count_in + (2 * self.upbeat > self.bar)

    @property
    def music_start(self) -> Fraction:
        return self.count_in * self.bar - self.upbeat

    @property
    def music_length(self) -> Fraction:
        """From the first note to the end of the last bar; a gap only stands between passes.

        The last bar is heard to its end, also what the upbeat takes from it on paper.
        """
        count, drill = len(self.climb) * self.passes, self.score.drill
        return count * drill.stride - drill.gap * self.bar + self.upbeat

    @property
    def music_end(self) -> Fraction:
        return self.music_start + self.music_length

    @property
    def end(self) -> Fraction:
        """Whole bars after the music: two beats for the closing sweeps, and a second at least."""
        beats = CLOSING_SWEEPS * self.score.drill.meter.beat
        needed = max(beats, self.clock.quarters(SHORTEST_CLOSE_SECONDS))
        return self.music_end + ceil(needed / self.bar) * self.bar

    def bars(self) -> Iterator[PlayedBar]:
        """Every bar from the first frame to the end of the music, without a gap between them."""
        written, meter, key = self.score.drill.bars, self.score.drill.meter, self.score.key
        for count in range(self.count_in):
            line = count * self.bar
            end = min(line + self.bar, self.music_start)
            yield PlayedBar(line, end, line, Fraction(0), meter, key, 0, 0)
        played = list(self.played())
        starts = [*(each.start for each in played[1:]), self.music_end]
        for each, until in zip(played, starts, strict=True):
            before = (each.stand.number - 1) * self.score.drill.bar_count
            end = each.start
            for bar in written:
                line, start, end = (each.start + at for at in (bar.line, bar.start, bar.end))
                if bar is written[-1] and end < until:
                    end += self.upbeat  # no upbeat follows at once
                number = before + bar.number
                beat = bar.beat(bar.start)
                here = bar.key or key
                yield PlayedBar(start, end, line, beat, bar.meter, here, number, each.number)
            while end < until:
                start, end = end, min(end + self.bar, until)
                yield PlayedBar(start, end, start, Fraction(0), meter, key, None, each.number)

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
        bars = self.score.drill.click.count_in
        return (bars - 1) * self.bar if bars > 1 else self.given_bar_end / 2

    @property
    def given_end(self) -> Fraction:
        """Where the first note, given softly with the drone, stops."""
        return (self.drone_start + self.given_bar_end) / 2

    @property
    def given_bar_end(self) -> Fraction:
        """The end of the bar in which the first note is given, before a bar for a long upbeat."""
        return min(self.score.drill.click.count_in * self.bar, self.music_start)

    def clicks(self, stage: Stage) -> Iterator[Click]:
        every = self.score.drill.click.every
        for bar in self.bars():
            counts = bar.pass_number == 0
            if counts or (stage.click and every != "off"):
                span = bar.meter.beat if counts else bar.meter.span(every)
                for at in bar.within(span):
                    sweep = counts and bar.line == 0
                    yield Click(at, at == bar.line, count_in=counts, sweep=sweep)
        for beat in range(CLOSING_SWEEPS):
            at = self.music_end + beat * self.score.drill.meter.beat
            yield Click(at, beat == 0, sweep=True)

    def drones(self, stage: Stage) -> Iterator[Drone]:
        """One drone, or one after the other where it follows the key."""
        if not stage.drone:
            return
        rows = [(self.score.key, self.drone_start)]
        if self.score.drill.drone.follow:
            bars = [(bar.key, bar.start) for bar in self.bars() if bar.start >= self.music_start]
            rows += [new for old, new in pairwise([*rows, *bars]) if old[0] != new[0]]
        ends = [*(start for _, start in rows[1:]), self.music_end]
        for (key, start), end in zip(rows, ends, strict=True):
            if pitches := drone_pitches(self.score, key):
                hz = tuple(hz for _, hz in pitches)
                yield Drone(start, end, tuple(pitch for pitch, _ in pitches), hz)


def tonic(score: Score, key: Key | None = None) -> Pitch:
    """The lowest tonic at or above the lowest string, moved by the drone's octave; sounding.

    Of the score's key, or of one that a passage has changed to.
    """
    board = score.board.in_key(key or score.key)
    low = board.sounding_key.tonic_at_or_above(score.instrument.lowest)
    return low.octaves_up(score.drill.drone.octave)


def drone_pitches(score: Score, key: Key | None = None) -> tuple[tuple[Pitch, float], ...]:
    """The drone's pitches and their frequencies in a key, sounding; none where it is off."""
    on, octave = score.drill.drone.on, score.drill.drone.octave
    if on == "off":
        return ()
    if on.startswith("open "):
        string = on.removeprefix("open ")
        pitch = score.instrument.string(string).octaves_up(octave)
        return ((pitch, score.board.open_hz(string) * 2**octave),)
    low, board = tonic(score, key), score.board.in_key(key or score.key)
    if on == "tonic":
        chosen = [low]
    elif on == "tonic and fifth":
        chosen = [low, low.moved(*FIFTH)]
        if score.drill.drone.fifth == "pure":
            tonic_hz = board.hz(low)
            return tuple(zip(chosen, (tonic_hz, tonic_hz * 3 / 2), strict=True))
    else:
        chosen = [score.instrument.as_sounding(Pitch.of(on)).octaves_up(octave)]
    return tuple((pitch, board.hz(pitch)) for pitch in chosen)
