"""The drill as data: everything the teacher wrote, checked, with the defaults filled in."""

from __future__ import annotations

from dataclasses import dataclass, field
from fractions import Fraction
from functools import cached_property

from playalong.drill.bars import WrittenBar, place_of, written_bars
from playalong.drill.pattern import Pattern
from playalong.drill.stage import STAGES, Stage
from playalong.instrument.instruments import Instrument
from playalong.instrument.shift import Lead
from playalong.music.key import Key
from playalong.music.meter import Meter
from playalong.music.temperament import Tuning

TEMPO_RANGE_BPM = (20, 320)
DEFAULT_BPM = 60
BOWS = ("note", "beat", "half bar", "bar")
CLICKS = ("half beat", "beat", "half bar", "bar", "off")
DRONES = ("tonic", "tonic and fifth", "off")
FIFTHS = ("tuned", "pure")


@dataclass(frozen=True)
class Tempo:
    """Beats a minute as written; `step` is ``marks``, ``+4`` or ``+5%``."""

    written_start: int | None = None
    written_goal: int | None = None
    step: str = "marks"

    @property
    def start(self) -> int:
        """The first tempo: where none is written, the common one or a lower goal."""
        if self.written_start is not None:
            return self.written_start
        return min(DEFAULT_BPM, self.written_goal or DEFAULT_BPM)

    @property
    def goal(self) -> int:
        """The last tempo: where none is written, the first."""
        return self.start if self.written_goal is None else self.written_goal


@dataclass(frozen=True)
class DroneSettings:
    """`on` is one of DRONES, a pitch name, or ``open D``; `octave` moves it.

    `fifth` is one of FIFTHS: as the drill is tuned, or 3/2 of the tonic, which does not beat.
    """

    on: str = "tonic"
    octave: int = 0
    fifth: str = "tuned"
    follow: bool = False  # moves to the new tonic where the key changes in a passage


@dataclass(frozen=True)
class ClickSettings:
    every: str = "beat"
    count_in: int = 2  # bars


@dataclass(frozen=True)
class SlideSettings:
    """`share` of the departing note that a slide takes."""

    lead: Lead = field(default_factory=Lead)
    share: Fraction = Fraction(2, 5)


@dataclass(frozen=True)
class SessionSettings:
    """A hands-free file: minutes to play at most, minutes to rest, taps that tell the stage."""

    play: float = 5.0
    rest: float = 1.0
    taps: bool = True
    home: bool = False


@dataclass(frozen=True)
class Drill:
    title: str
    instrument: Instrument
    pattern: Pattern
    strings: tuple[str, ...] = ()  # the drill once on each; empty where it names none
    keys: tuple[Key, ...] = ()
    meter: Meter = Meter(4, 4)
    note: Fraction = Fraction(1, 2)  # quarters
    upbeat: Fraction = Fraction(0)  # plain notes before the first bar line
    first_bar: int = 1  # number of the first whole bar, as in the score that a passage is from
    climb: int | tuple[int, ...] = 1  # number of starting positions, or the list of them
    rhythm: tuple[Fraction, ...] = (Fraction(1),)  # plain notes, handed out in turn
    bow: str = "note"
    passes: int = 2
    gap: int = 0  # bars of click between passes
    stages: tuple[Stage, ...] = tuple(STAGES.values())
    own_stages: tuple[Stage, ...] = ()  # all that the file defines
    tempo: Tempo = Tempo()
    tuning: Tuning = Tuning()
    drone: DroneSettings = DroneSettings()
    click: ClickSettings = ClickSettings()
    slide: SlideSettings = field(default_factory=SlideSettings)
    session: SessionSettings = SessionSettings()
    author: str = ""  # empty where nobody is named
    positions: tuple[int, int] | None = None  # the player's reach: lowest and highest position
    file: str = ""  # its name, for messages and the manifest
    sha256: str = ""

    @cached_property
    def bars(self) -> tuple[WrittenBar, ...]:
        """The bars of one pass."""
        return written_bars(self.pattern, self.meter, self.upbeat_length, self.first_bar)

    @property
    def bar_count(self) -> int:
        """How many bars a pass counts: an upbeat and what is left of the last bar are one."""
        return self.bars[-1].number - self.first_bar + 1

    def bar_at(self, at: Fraction) -> WrittenBar:
        """The bar of a pass that sounds so many quarters into it."""
        return self.bars[place_of(self.bars, at)]

    @property
    def upbeat_length(self) -> Fraction:
        """Quarters of the first bar that come before its first bar line; 0 without an upbeat."""
        return self.upbeat * self.note

    @property
    def stride(self) -> Fraction:
        """Quarters from the beginning of a pass to that of the next, click between them too."""
        return self.bars[-1].end + self.gap * self.meter.bar

    @property
    def pairs(self) -> tuple[tuple[Key, str | None], ...]:
        """Every key and string, in the order of practice."""
        return tuple((key, string) for key in self.keys for string in self.strings or (None,))
