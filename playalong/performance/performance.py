"""The Performance: what sounds when, at one tempo and in one stage.

Times are exact quarters from the first frame of the track; the clock turns them into ticks,
blocks and seconds. Every pitch is in Hz.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from playalong.drill.stage import Stage
from playalong.instrument.shift import Travel
from playalong.music.pitch import Pitch
from playalong.performance.clock import Clock
from playalong.performance.glide import Course, minimum_jerk, minimum_jerk_speed
from playalong.score.score import Note, Score


@dataclass(frozen=True)
class Click:
    at: Fraction
    accent: bool
    count_in: bool = False
    sweep: bool = False  # a short sweep that a recording can be laid against


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
    course: Course
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
class Event:
    """A note or ghost note as the timeline tells it, whether it sounds or not."""

    note: Note  # for a ghost, the note that it prepares
    start: Fraction
    end: Fraction
    pitch: Pitch
    hz: float
    finger: int | None
    string: str | None
    position: int | None
    role: str  # note or ghost
    sounds: bool
    onset: bool = True  # False where it is reached by a bend
    heard_from: Fraction | None = None  # where it enters late
    count_in: bool = False


@dataclass(frozen=True)
class Performance:
    score: Score
    bpm: int
    stage: Stage
    clock: Clock
    length: Fraction
    music_start: Fraction
    music_end: Fraction
    clicks: tuple[Click, ...]
    drone: Drone | None
    tonic_hz: float
    guide: tuple[Tone, ...]
    ghosts: tuple[Tone, ...]
    events: tuple[Event, ...]
    slides: tuple[Slide, ...]

    @property
    def blocks(self) -> int:
        """Length in 64-frame blocks."""
        return self.clock.block(self.length)

    @property
    def seconds(self) -> float:
        return self.clock.seconds(self.length)
