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
from playalong.instrument.hand import Place, Stop
from playalong.instrument.position import THUMB, Position
from playalong.music.pitch import Pitch

MOST_REACH = 2  # half steps from a finger's place
OPEN_STRING = 0  # among the fingers
FINGERS = (THUMB, 1, 2, 3, 4)
VIOLIN_STRING_MM = 328.0
HALF_STRING = 12  # half steps, where a touched string sounds as a stopped one does


class Reach(Enum):
    """How a finger comes to its note."""

    IN_PLACE = 0  # on its letter, altered or not
    OTHER_NAME = 1  # where it would stand for the note by its other name, A# as Bb
    EXTENDED = 2


@dataclass(frozen=True)
class Way:
    string: str
    place: Place  # where the hand stands or, over an open string, waits
    finger: int
    reach: Reach
    semitones: int  # above the open string
    string_number: int  # 1 for the highest
    hand_mm: float  # from the nut to the first finger of the closed hand, as on a violin's string
    touched: bool = False  # a natural harmonic

    @property
    def position(self) -> Position:
        return self.place.position


@dataclass(frozen=True)
class Ways:
    """The ways to play one note, and what the costs need of them as columns."""

    ways: tuple[Way, ...]

    @cached_property
    def strings(self) -> NDArray[np.int64]:
        return np.array([way.string_number for way in self.ways])

    @cached_property
    def positions(self) -> NDArray[np.int64]:
        return np.array([way.position.number for way in self.ways])

    @cached_property
    def heights(self) -> NDArray[np.int64]:
        return np.array([way.place.height for way in self.ways])

    @cached_property
    def fixed(self) -> NDArray[np.bool_]:
        """Whether the hand stands in a place of its own, whatever the key."""
        return np.array([way.position.mark != "" for way in self.ways])

    @cached_property
    def half_steps(self) -> NDArray[np.bool_]:
        """Whether the hand has a finger for each half step."""
        return np.array([way.place.by_half_steps for way in self.ways])

    @cached_property
    def open_hands(self) -> NDArray[np.bool_]:
        return np.array([way.place.is_open for way in self.ways])

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
    board: Fingerboard, pitch: Pitch, highest: int, *, thumb: bool = False, touched: bool = False
) -> Iterator[Way]:
    """Every way up to a position, and with the thumb up if asked for, or every one to touch it as a
    harmonic at the half of a string; `pitch` is as it sounds."""
    instrument = board.instrument
    for number, (name, open_string) in enumerate(
        zip(instrument.string_names, instrument.strings, strict=True), 1
    ):
        semitones = pitch.key_number - open_string.key_number
        below = semitones < 0 or board.place_mm(name, pitch) > instrument.fingerboard_mm
        elsewhere = touched and semitones != HALF_STRING
        for place in () if below or elsewhere else board.places(name):
            if not place.position.is_within(highest, thumb=thumb):
                continue
            reaches = list[tuple[int, Reach]]()
            if pitch == open_string:
                reaches.append((OPEN_STRING, Reach.IN_PLACE))
            for finger in FINGERS if semitones else ():
                reach = _reach(board, Stop(name, place.position, finger, pitch), place)
                if reach is not None:
                    reaches.append((finger, reach))
            hand_mm = _hand_mm(board, name, place) if reaches else 0.0
            for finger, reach in reaches:
                is_touched = touched and finger != OPEN_STRING
                yield Way(name, place, finger, reach, semitones, number, hand_mm, is_touched)


def _reach(board: Fingerboard, stop: Stop, place: Place) -> Reach | None:
    """How the finger comes to its note; None where a drill would not keep it there."""
    stands, pitch = board.standing(stop.string, stop.position, stop.finger), stop.pitch
    if stands is None or abs(stands.index - pitch.index) > 1:
        return None
    if not board.hand.holds(board.instrument.string(stop.string), stop, board.key):
        return None
    letters, half_steps = stands.index - pitch.index, pitch.key_number - stands.key_number
    if place.by_half_steps:
        if half_steps == 0:
            return Reach.IN_PLACE
        is_reached = not place.is_open and _extended(board, stop) == pitch.key_number
        return Reach.EXTENDED if is_reached else None
    if letters == 0:
        return Reach.IN_PLACE
    if letters * pitch.alter > 0:
        return Reach.OTHER_NAME
    # Only the first finger reaches back, and none does so from half position.
    lowest = stop.finger == board.hand.fingers[0]
    reaches = stop.finger in board.hand.extending and lowest == (letters > 0)
    near = abs(half_steps) <= MOST_REACH and stop.position.number
    return Reach.EXTENDED if reaches and near else None


def _extended(board: Fingerboard, stop: Stop) -> int | None:
    """The MIDI key that a finger reaches."""
    open_string = board.instrument.string(stop.string)
    played = board.hand.played(open_string, stop.position, stop.finger, board.key, extended=True)
    return played[1].key_number if played else None


def _hand_mm(board: Fingerboard, string: str, place: Place) -> float:
    first = board.standing(string, place.position, board.hand.fingers[0])
    if first is None:
        return 0.0
    closed = Pitch(first.index, first.alter + place.is_open)
    return board.place_mm(string, closed) * VIOLIN_STRING_MM / board.instrument.string_length_mm
