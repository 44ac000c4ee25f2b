"""The Score: the written notes in beats, for one key and one string.

It holds one pass of each starting position of the climb. How often each is played is decided by
the stage, so passes belong to the performance.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property

from playalong.drill.bars import WrittenBar
from playalong.drill.model import Drill
from playalong.instrument.fingerboard import Fingerboard
from playalong.instrument.hand import Named, Stop
from playalong.instrument.harmonics import Node
from playalong.instrument.instruments import Instrument
from playalong.instrument.position import Position
from playalong.instrument.shift import Kind, Travel
from playalong.music.key import Key
from playalong.music.pitch import Pitch


@dataclass(frozen=True)
class Touch:
    """A natural harmonic: the string is touched at a node, named as a note stopped there."""

    place: Pitch
    node: Node


@dataclass(frozen=True)
class Notehead:
    """One sounding pitch of a note: what stops it, and the travel that leads into it."""

    pitch: Pitch  # sounding
    hz: float
    string: str | None = None
    position: Position | None = None
    finger: int | None = None
    touched: Touch | None = None
    arrival: Travel | None = None
    heard: bool = False  # whether that travel may sound

    @property
    def stop(self) -> Stop | None:
        if not (self.finger and self.string) or self.position is None:
            return None
        place = self.touched.place if self.touched else self.pitch
        return Stop(self.string, self.position, self.finger, place)

    @property
    def is_landing(self) -> bool:
        """Whether a shift, or a slide written with ~, lands on it."""
        return self.arrival is not None and (self.heard or self.arrival.kind is not Kind.HALF_STEP)


@dataclass(frozen=True)
class Note:
    """One written note: where it falls in its pass, and its heads, the lower string first.

    The plain properties are those of the first head.
    """

    start: Fraction  # quarters from the beginning of the pass
    length: Fraction  # quarters
    heads: tuple[Notehead, ...]
    stand: int  # number of its starting position, from 1
    bar: int  # from 1, counted on through the climb
    beat: Fraction  # beats from the bar line; less than 0 in an upbeat
    bow: tuple[int, int]  # notes of a pass that agree in it share a bow
    ties: tuple[Fraction, ...] = ()  # quarters from its start at which a tie leads on

    @property
    def end(self) -> Fraction:
        return self.start + self.length

    @property
    def is_grace(self) -> bool:
        """Whether it has no time of its bar, and leads to the note after it."""
        return not self.length

    @property
    def head(self) -> Notehead:
        return self.heads[0]

    @property
    def pitch(self) -> Pitch:
        return self.head.pitch

    @property
    def hz(self) -> float:
        return self.head.hz

    @property
    def string(self) -> str | None:
        return self.head.string

    @property
    def position(self) -> Position | None:
        return self.head.position

    @property
    def finger(self) -> int | None:
        return self.head.finger

    @property
    def position_number(self) -> int | None:
        """Letters above the open string, as data tell a position."""
        return None if self.position is None else self.position.number

    @property
    def touched(self) -> Touch | None:
        return self.head.touched

    @property
    def stop(self) -> Stop | None:
        return self.head.stop

    @property
    def arrival(self) -> Travel | None:
        return self.head.arrival

    @property
    def heard(self) -> bool:
        return self.head.heard

    @property
    def is_landing(self) -> bool:
        return any(head.is_landing for head in self.heads)


@dataclass(frozen=True)
class StartingPosition:
    """One stand of the climb: a pass of the written bars, by where the hand comes from.

    The three hold the same notes; only the travel into the first of them differs.
    """

    number: int  # from 1
    letters: int  # above the written bars
    notes: tuple[Note, ...]  # from the starting position before
    again: tuple[Note, ...]  # from its own end, for another pass
    fresh: tuple[Note, ...]  # from nowhere, where a track begins here


@dataclass(frozen=True)
class Score:
    drill: Drill
    key: Key  # as it is read; what sounds stands in `board.sounding_key`
    string: str | None
    climb: tuple[StartingPosition, ...]
    left_out: tuple[str, ...] = ()  # starting positions beyond the player's reach, told
    warnings: tuple[str, ...] = ()

    @cached_property
    def instrument(self) -> Instrument:
        """The drill's instrument, its transposition spelled for the key."""
        return self.drill.instrument.in_key(self.key)

    @cached_property
    def board(self) -> Fingerboard:
        return Fingerboard(self.instrument, self.key, self.drill.tuning)

    def bar_of(self, note: Note) -> WrittenBar:
        """The written bar in which a note begins."""
        return self.drill.bar_at(note.start)

    def key_of(self, note: Note) -> Key:
        """The key that a note is in, which a passage may have changed."""
        return self.bar_of(note).key or self.key

    def board_of(self, note: Note) -> Fingerboard:
        """The fingerboard in the key that a note is in."""
        return self.board.in_key(self.key_of(note))

    def named(self, note: Note) -> Named:
        """What players call the hand at a note, by the key that the note is in."""
        stop = note.stop
        return self.board_of(note).named(stop.string, stop.position) if stop else Named()

    @property
    def notes(self) -> tuple[Note, ...]:
        """One pass of every starting position."""
        return tuple(note for stand in self.climb for note in stand.notes)

    def has_landings(self, passes: int) -> bool:
        """Whether a shift or a written slide lands on any note, in so many passes."""
        return any(note.is_landing for note in self.reached(passes))

    def has_slides(self, passes: int) -> bool:
        """Whether a slide is heard into any note, in so many passes."""
        return any(note.heard for note in self.reached(passes))

    def reached(self, passes: int) -> Iterator[Note]:
        """Every note in so many passes; passes after the second are as the second."""
        for stand in self.climb:
            yield from stand.notes
            yield from stand.again if passes > 1 else ()

    @property
    def pass_length(self) -> Fraction:
        """Quarters of the written bars."""
        return self.drill.bars[-1].end

    @property
    def name(self) -> str:
        """`Bb major on the D string`."""
        return pair_name(self.key, self.string)


def pair_name(key: Key, string: str | None) -> str:
    return f"{key} on the {string} string" if string else str(key)
