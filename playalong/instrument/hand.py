"""What every hand answers: which finger stops what, position by position.

A hand knows letters, fingers and keys. Strings, tuning and millimetres are the fingerboard's;
`open_string` is always the pitch of the string in question.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Protocol

from playalong.errors import PlayalongError
from playalong.instrument.position import Position
from playalong.music.key import Key
from playalong.music.pitch import Pitch


class FingerError(PlayalongError):
    """A finger that cannot stop the string where it is asked to."""


@dataclass(frozen=True)
class Stop:
    """One finger on one string: what the left hand does for a note."""

    string: str
    position: Position
    finger: int
    pitch: Pitch  # of the place, which is not what a harmonic sounds


@dataclass(frozen=True)
class Named:
    """What players call the hand in a position."""

    schools: Mapping[str, str] = field(default_factory=dict)  # the name by school
    extended: str = ""  # back, or forward
    rare: frozenset[int] = frozenset()  # fingers that are seldom used there
    beside: str = ""  # what stands beside the number: `lower 2nd`, nothing where it says all


@dataclass(frozen=True)
class Place:
    """Where a hand can stand on a string."""

    position: Position
    height: int  # as `Hand.height` has it
    by_half_steps: bool = False  # whether a finger stands on each half step, whatever the key
    is_open: bool = False


class Hand(Protocol):
    """A way of fingering."""

    @property
    def fingers(self) -> tuple[int, ...]:
        """Those that stop a string in the lowest positions, the lowest first."""

    @property
    def extending(self) -> tuple[int, ...]:
        """The fingers that reach beyond their place (`x`)."""

    @property
    def highest_position(self) -> int: ...

    @property
    def widest_frame(self) -> tuple[int, int] | None:
        """The widest hand that is taught first: from one place on the string to another, both in
        half steps above the open string; None where the hand is not measured along the string."""

    def standing(
        self, open_string: Pitch, position: Position, finger: int, key: Key
    ) -> Pitch | None:
        """Where a finger stands by the key alone; None where it has no place in that position."""

    def played(
        self,
        open_string: Pitch,
        position: Position,
        finger: int,
        key: Key,
        *,
        alter: str = "",
        extended: bool = False,
    ) -> tuple[int, Pitch] | None:
        """The finger that plays what is written for a finger, and the note.

        None where the finger has no place there, or the mark spells no such note.
        """

    def check(
        self, string: str, open_string: Pitch, position: Position, finger: int, key: Key
    ) -> None:
        """FingerError where the hand cannot stand so that this finger stops the string."""

    def holds(self, open_string: Pitch, stop: Stop, key: Key) -> bool:
        """Whether a finger reaches a pitch without the hand leaving its position."""

    def is_same(self, open_string: Pitch, one: Position, two: Position, key: Key) -> bool:
        """Whether two positions are one hand: under two names, or once open and once closed."""

    def named(self, open_string: Pitch, position: Position, key: Key) -> Named:
        """What players call the hand in a position."""

    def places(self, open_string: Pitch, key: Key) -> Iterator[Place]:
        """Each place of the hand once, thumb positions too, by the plainest name that it has."""

    def height(self, open_string: Pitch, position: Position, key: Key) -> int:
        """How far up the string the hand stands, on a scale of its own."""

    def position_of(
        self, open_string: Pitch, pitch: Pitch, finger: int, key: Key, *, thumb: bool = False
    ) -> Position | None:
        """The position that puts a finger on a pitch; None where none does."""

    def candidates(
        self, open_string: Pitch, pitch: Pitch, key: Key
    ) -> Iterator[tuple[Position, int]]:
        """Every way to stop a pitch, one for each finger, from first position upward."""

    def strains(self, one: Stop, two: Stop) -> Iterator[str]:
        """What is unusual about two stops, one after the other, in one position."""
