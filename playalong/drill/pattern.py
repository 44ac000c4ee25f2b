"""The written bars as data: events of none, one or two symbols, whatever they were read from."""

from __future__ import annotations

from dataclasses import dataclass, field
from fractions import Fraction
from functools import cached_property

from playalong.drill.origin import Origin
from playalong.instrument.position import FIRST_POSITION, Position
from playalong.music.key import Key
from playalong.music.meter import Meter


@dataclass(frozen=True)
class Symbol:
    """One note as written: a finger in a position, or a pitch with or without its finger.

    `position`, `fixed` and `string` are what is in force for it.
    """

    position: Position = FIRST_POSITION
    fixed: bool = False  # does not climb
    string: str | None = None
    finger: int | None = None
    alter: str = ""  # "#", "b", "n" against the signature
    extended: bool = False  # the finger reaches beyond its place
    touched: bool = False  # the finger only touches the string: a natural harmonic
    index: int | None = None  # written pitch: letters from C0
    pitch_alter: int | None = None  # its written accidental, if any
    placed: bool = False  # a position was written for this pitch; else it follows from the finger
    origin: Origin = field(default=Origin(), compare=False, repr=False)

    @property
    def is_pitch(self) -> bool:
        return self.index is not None

    @property
    def climbs(self) -> bool:
        """Whether the climb moves it: a fixed home and open strings stay."""
        return not self.fixed and self.finger != 0


@dataclass(frozen=True)
class Event:
    """What begins at one moment: a rest (no symbol), a note (one) or a double stop (two).

    One that is tied has no symbol either: the note before it goes on. A grace note has no time of
    its bar: it leads to the note after it, and what sounds before makes room for it.
    """

    symbols: tuple[Symbol, ...] = ()  # the lower string first
    length: Fraction | None = None  # in plain notes; None takes the next of the rhythm
    silent: bool = False  # its shift makes no sound
    slide: bool = False  # a slide into it is heard, shift or not
    slur: int | None = None  # which slur of the pattern it belongs to
    tied: bool = False
    grace: bool = False
    origin: Origin = field(default=Origin(), compare=False, repr=False)

    @property
    def is_rest(self) -> bool:
        return not self.symbols and not self.tied


@dataclass(frozen=True)
class Change:
    """A meter or a key that holds from a bar on, by the bar's place in the pattern."""

    place: int  # from 1: what the first bar begins in is a setting of the drill
    meter: Meter | None = None
    key: Key | None = None
    origin: Origin = field(default=Origin(), compare=False, repr=False)


@dataclass(frozen=True)
class Pattern:
    """The written bars, where meter and key change in them, and where a part of them ends."""

    bars: tuple[tuple[Event, ...], ...]
    changes: tuple[Change, ...] = ()
    parted: frozenset[int] = frozenset()  # places of the bars before a double bar line

    @cached_property
    def events(self) -> tuple[Event, ...]:
        return tuple(event for bar in self.bars for event in bar)

    @cached_property
    def symbols(self) -> tuple[Symbol, ...]:
        return tuple(symbol for event in self.events for symbol in event.symbols)

    @cached_property
    def names_strings(self) -> bool:
        return any(symbol.string for symbol in self.symbols)

    @cached_property
    def has_slurs(self) -> bool:
        return any(event.slur is not None for event in self.events)
