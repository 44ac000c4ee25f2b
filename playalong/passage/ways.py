"""Every way to play a note: on which string, in which position, with which finger.

These are the ways that a drill can write: a position that is written holds where the hand reaches
the pitch (`Hand.holds`).
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from enum import Enum
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from playalong.instrument.fingerboard import Fingerboard
from playalong.instrument.hand import Stop
from playalong.instrument.position import Position
from playalong.music.pitch import Pitch

MOST_REACH = 2  # half steps from a finger's place
OPEN_STRING = 0  # among the fingers


class Reach(Enum):
    """How a finger comes to its note."""

    IN_PLACE = 0  # on its letter, altered or not
    OTHER_NAME = 1  # where it would stand for the note by its other name, A# as Bb
    EXTENDED = 2


@dataclass(frozen=True)
class Way:
    string: str
    position: int  # where the hand stands or, over an open string, waits
    finger: int
    reach: Reach
    semitones: int  # above the open string
    string_number: int  # 1 for the highest
    hand_mm: float  # from the nut to the place of the first finger


@dataclass(frozen=True)
class Ways:
    """The ways to play one note, and what the costs need of them as columns."""

    ways: tuple[Way, ...]

    @cached_property
    def strings(self) -> NDArray[np.int64]:
        return np.array([way.string_number for way in self.ways])

    @cached_property
    def positions(self) -> NDArray[np.int64]:
        return np.array([way.position for way in self.ways])

    @cached_property
    def fingers(self) -> NDArray[np.int64]:
        return np.array([way.finger for way in self.ways])

    @cached_property
    def semitones(self) -> NDArray[np.int64]:
        return np.array([way.semitones for way in self.ways])

    @cached_property
    def reaches(self) -> NDArray[np.int64]:
        return np.array([way.reach.value for way in self.ways])

    @cached_property
    def hand_mm(self) -> NDArray[np.float64]:
        return np.array([way.hand_mm for way in self.ways])


def ways_of(
    board: Fingerboard, pitch: Pitch, highest: int, *, extensions: bool = True
) -> Iterator[Way]:
    """Every way up to a position; `pitch` is as it sounds."""
    instrument = board.instrument
    for number, (name, open_string) in enumerate(
        zip(instrument.string_names, instrument.strings, strict=True), 1
    ):
        semitones = pitch.key_number - open_string.key_number
        positions = range(highest + 1)
        if pitch == open_string:
            for position in positions:
                hand_mm = _hand_mm(board, name, position)
                yield Way(name, position, OPEN_STRING, Reach.IN_PLACE, 0, number, hand_mm)
        if semitones <= 0 or board.place_mm(name, pitch) > instrument.fingerboard_mm:
            continue
        for position in positions:
            for finger in board.hand.fingers:
                reach = _reach(board, Stop(name, Position(position), finger, pitch))
                if reach is None or (reach is Reach.EXTENDED and not (extensions and position)):
                    continue
                hand_mm = _hand_mm(board, name, position)
                yield Way(name, position, finger, reach, semitones, number, hand_mm)


def _reach(board: Fingerboard, stop: Stop) -> Reach | None:
    """How the finger comes to its note; None where a drill would not keep it there."""
    stands, pitch = board.standing(stop.string, stop.position, stop.finger), stop.pitch
    if stands is None or abs(stands.index - pitch.index) > 1:
        return None
    if not board.hand.holds(board.instrument.string(stop.string), stop, board.key):
        return None
    letters = stands.index - pitch.index
    if letters == 0:
        return Reach.IN_PLACE
    if letters * pitch.alter > 0:
        return Reach.OTHER_NAME
    # Only the first finger reaches back.
    lowest = stop.finger == board.hand.fingers[0]
    reaches = stop.finger in board.hand.extending and lowest == (letters > 0)
    near = abs(stands.key_number - pitch.key_number) <= MOST_REACH
    return Reach.EXTENDED if reaches and near else None


def _hand_mm(board: Fingerboard, string: str, position: int) -> float:
    first = board.standing(string, Position(position), board.hand.fingers[0])
    return board.place_mm(string, first) if first else 0.0
