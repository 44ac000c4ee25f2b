"""A part of a score as printed, bar by bar: what a passage can be made from.

Lengths are quarters. Pitches are as written; `transposition` of a bar says how it sounds.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from fractions import Fraction

from playalong.errors import PlayalongError
from playalong.music.meter import Meter
from playalong.music.pitch import Pitch
from playalong.music.transposition import AS_WRITTEN, Transposition


class PassageError(PlayalongError):
    """A score or a passage of it that no drill can be made from, in one sentence."""


class BarError(PassageError):
    """What makes one bar unreadable, said without its number; the others can be read."""


# What readers tell of a bar in the same words.
DYNAMICS = "dynamics"
CHANGES = "a key or meter that changes within the bar; it is taken from the next one on"


NATURAL, ARTIFICIAL = "natural", "artificial"  # harmonics


@dataclass(frozen=True, slots=True)
class ScoreNote:
    """One head or rest; a chord has several that begin together."""

    at: Fraction  # quarters from the beginning of its bar
    length: Fraction  # quarters; 0 of a grace note
    pitch: Pitch | None = None  # None for a rest, and for percussion
    voice: str = "1"
    is_chord: bool = False  # sounds with the head before it
    is_grace: bool = False
    is_cue: bool = False
    is_unpitched: bool = False
    microtone: Fraction = Fraction(0)  # half steps above its pitch
    tie_to_next: bool = False
    tie_from_last: bool = False
    tuplet: tuple[int, int] | None = None  # so many in the time of so many
    fingers: tuple[int, ...] = ()
    other_fingers: tuple[str, ...] = ()  # substitutions, alternatives, the thumb
    strings: tuple[int, ...] = ()  # 1 for the highest
    is_open: bool = False
    harmonic: str = ""  # NATURAL or ARTIFICIAL
    bow: str = ""  # "up-bow" or "down-bow"
    slur_starts: int = 0
    slur_stops: int = 0
    slide_stops: bool = False
    ornaments: tuple[str, ...] = ()
    articulations: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class ScoreBar:
    """One printed bar, with what is in force at its beginning or changes there."""

    number: str  # as printed; not always a number
    length: Fraction  # quarters that are written in it
    notes: tuple[ScoreNote, ...] = ()
    signature: int | None = 0  # sharps, or flats below 0; None for one that is not traditional
    mode: str = ""
    meter: Meter | None = field(default_factory=lambda: Meter(4, 4))
    meter_words: str = ""  # of one that no drill has, or that is a sum: `3+2/8`
    clef: str = ""  # sign and line: `G2`
    transposition: Transposition = AS_WRITTEN
    is_implicit: bool = False  # has no printed number: an upbeat, or the rest of a split bar
    repeats: tuple[str, ...] = ()  # "forward", "backward"
    endings: tuple[str, ...] = ()  # `1 start`
    tempo: float | None = None  # quarters a minute
    words: tuple[str, ...] = ()
    told: tuple[str, ...] = ()  # what its reader could not keep
    fault: str = ""  # why it cannot be read; it holds no notes then

    def unreadable(self, fault: str) -> ScoreBar:
        """The same without its notes, as long as its meter asks for."""
        return replace(self, length=self.full, notes=(), fault=fault)

    @property
    def full(self) -> Fraction:
        """The length that its meter asks for."""
        return self.meter.bar if self.meter else Fraction(4)

    def sounding(self, note: ScoreNote) -> Pitch | None:
        """A note as it sounds; None for a rest."""
        return note.pitch and self.transposition.sounding(note.pitch)


@dataclass(frozen=True)
class PartName:
    """How a part can be asked for: its number from 1, and its name."""

    number: int
    id: str
    name: str

    def __str__(self) -> str:
        return f"{self.number} {self.name or self.id}".rstrip()


@dataclass(frozen=True)
class Part:
    name: PartName
    bars: tuple[ScoreBar, ...]
    title: str = ""  # of the score
    told: tuple[str, ...] = ()  # what a file of its kind lacks


Keep = Callable[[tuple[PartName, ...]], tuple[PartName, ...]]  # which of all parts to read
