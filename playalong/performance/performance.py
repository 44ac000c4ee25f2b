"""The Performance: what sounds when, at one tempo and in one stage.

Times are exact quarters from the first frame of the track; the clock turns them into ticks,
blocks and seconds. Every pitch is in Hz.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from math import ceil

from playalong.drill.stage import Stage
from playalong.instrument.position import Position
from playalong.instrument.shift import Travel
from playalong.music.key import Key
from playalong.music.meter import Meter
from playalong.music.pitch import Pitch
from playalong.performance.clock import Clock
from playalong.performance.glide import Glide, minimum_jerk, minimum_jerk_speed
from playalong.score.model import Note, Score, StartingPosition


@dataclass(frozen=True)
class Click:
    at: Fraction
    accent: bool
    count_in: bool = False
    sweep: bool = False  # a short sweep that a recording can be laid against


@dataclass(frozen=True)
class PlayedBar:
    """A bar of the count-in, of the music, or of click between passes."""

    start: Fraction
    end: Fraction
    line: Fraction  # its bar line: before the start of an upbeat
    beat: Fraction  # at which it begins: 0, or less in an upbeat
    meter: Meter
    key: Key
    number: int | None  # 0 in the count-in, None where the click is alone between passes
    pass_number: int  # 0 in the count-in; between passes that of the one before

    def within(self, span: Fraction) -> Iterator[Fraction]:
        """Every time in it that is a multiple of `span` from its bar line."""
        at = self.line + ceil((self.start - self.line) / span) * span
        while at < self.end:
            yield at
            at += span


@dataclass(frozen=True)
class Drone:
    """The drone's notes, held from `start` to `end`."""

    start: Fraction
    end: Fraction
    pitches: tuple[Pitch, ...]
    hz: tuple[float, ...]


@dataclass(frozen=True)
class Slide:
    """A travel in time. Where start and end agree, no slide was asked for or there was no room."""

    start: Fraction
    end: Fraction
    travel: Travel
    glide: Glide
    sounds: bool
    dip_db: float = 0.0  # the finger is lightest where it moves fastest
    settle_db: float = 0.0  # how much lighter it has become on arrival

    def level_db(self, t: float) -> float:
        """Level against the full tone, at share `t` of the time."""
        return -self.dip_db * minimum_jerk_speed(t) - self.settle_db * minimum_jerk(t)


@dataclass(frozen=True)
class Tone:
    """One held sound of the guide or the ghost voice, bent by its slides.

    A slide begins at the pitch that stands before it and its end is held until the next.
    """

    start: Fraction
    end: Fraction
    pitch: Pitch  # the note that names the MIDI key
    hz: float
    level: str  # full or soft
    slurred: bool = False  # joins the tone before it
    into_slur: bool = False  # the next tone joins it
    slides: tuple[Slide, ...] = ()


@dataclass(frozen=True)
class Pass:
    """One playing of the written bars at a starting position."""

    stand: StartingPosition
    number: int  # from 1
    start: Fraction
    notes: tuple[Note, ...]  # as they are reached in this pass


@dataclass(frozen=True)
class GhostNote:
    """Where the leading finger stands at the silent end of its travel."""

    start: Fraction
    end: Fraction  # the start again where it has no length of its own
    pitch: Pitch
    hz: float
    finger: int | None
    string: str | None
    position: Position | None
    sounds: bool
    onset: bool  # False where it is reached by a bend


@dataclass(frozen=True)
class PlayedNote:
    """A note of the score in one of its passes, whether it sounds or not, and how it is reached."""

    note: Note
    pass_number: int  # from 1; 0 for the note that the count-in gives
    start: Fraction
    end: Fraction
    sounds: bool
    onset: bool = True  # False where it is reached by a bend
    early: Fraction = Fraction(0)  # beats before its written place, to tell grace notes in order
    heard_from: Fraction | None = None  # where it enters late
    slide: Slide | None = None
    ghost: GhostNote | None = None

    @property
    def length(self) -> Fraction:
        """Quarters that it takes, which a grace note after it shortens."""
        return self.end - self.start

    @property
    def sounds_whole(self) -> bool:
        """Whether the guide plays it from its beginning."""
        return self.sounds and self.heard_from is None

    def shares_bow_with(self, old: PlayedNote) -> bool:
        """Whether the bow goes on from the note before without a stop."""
        here, before = (self.pass_number, self.note.bow), (old.pass_number, old.note.bow)
        return here == before and old.end == self.start

    @property
    def is_given(self) -> bool:
        """Whether it is the first note, given softly in the count-in."""
        return self.pass_number == 0


@dataclass(frozen=True)
class Performance:
    score: Score
    bpm: int
    stage: Stage
    clock: Clock
    length: Fraction
    passes: tuple[Pass, ...]
    bars: tuple[PlayedBar, ...]  # from the first frame to the end of the music
    music_start: Fraction
    music_end: Fraction
    clicks: tuple[Click, ...]
    drones: tuple[Drone, ...]  # one after the other
    tonic_hz: float
    guide: tuple[Tone, ...]
    ghosts: tuple[Tone, ...]
    notes: tuple[PlayedNote, ...]  # the given one first

    @property
    def drone(self) -> Drone | None:
        """The first of the drones."""
        return next(iter(self.drones), None)

    @property
    def slides(self) -> tuple[Slide, ...]:
        return tuple(note.slide for note in self.notes if note.slide)

    @property
    def blocks(self) -> int:
        """Length in 64-frame blocks."""
        return self.clock.block(self.length)

    @property
    def seconds(self) -> float:
        return self.clock.seconds(self.length)
