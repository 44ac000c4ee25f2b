"""The drill as data: everything the teacher wrote, checked, with the defaults filled in."""

from __future__ import annotations

from dataclasses import dataclass, field
from fractions import Fraction

from playalong.drill.notation import Pattern
from playalong.drill.stage import STAGES, Stage
from playalong.instrument.instruments import Instrument
from playalong.instrument.shift import Lead
from playalong.music.key import Key
from playalong.music.meter import Meter
from playalong.music.temperament import Tuning

TEMPO_RANGE_BPM = (20, 320)
BOWS = ("note", "beat", "half bar", "bar")
CLICKS = ("half beat", "beat", "half bar", "bar", "off")
DRONES = ("tonic", "tonic and fifth", "off")


@dataclass(frozen=True)
class Tempo:
    """Beats a minute; `step` is ``marks``, ``+4`` or ``+5%``."""

    start: int = 60
    goal: int = 60
    step: str = "marks"


@dataclass(frozen=True)
class Drone:
    """`on` is one of DRONES, a pitch name, or ``open D``; `octave` moves it."""

    on: str = "tonic"
    octave: int = 0


@dataclass(frozen=True)
class Click:
    every: str = "beat"
    count_in: int = 2  # bars


@dataclass(frozen=True)
class Slide:
    """`share` of the departing note that a slide takes."""

    lead: Lead = field(default_factory=Lead)
    share: Fraction = Fraction(2, 5)


@dataclass(frozen=True)
class Session:
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
    climb: int | tuple[int, ...] = 1  # number of places, or the starting positions
    rhythm: tuple[Fraction, ...] = (Fraction(1),)  # plain notes, handed out in turn
    bow: str = "note"
    passes: int = 2
    gap: int = 0  # bars of click between passes
    stages: tuple[Stage, ...] = tuple(STAGES.values())
    tempo: Tempo = Tempo()
    tuning: Tuning = Tuning()
    drone: Drone = Drone()
    click: Click = Click()
    slide: Slide = field(default_factory=Slide)
    session: Session = Session()
    file: str = ""  # its name, for messages and the manifest
    bar_lines: tuple[int, ...] = ()  # line in the file of each token, for messages
    sha256: str = ""

    def line_of(self, token_number: int) -> int | None:
        return self.bar_lines[token_number] if self.bar_lines else None
