"""Shifts: what kind each is, which finger travels, and where the ghost note lies.

A shift is a change of position between two stopped notes. Its kind follows from the fingers.
The ghost note is where the leading finger stands at the silent end of the travel: the old
finger's place in the new position (the guide-note rule of the shifting literature, common
practice), or the new finger's place in the old position.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction

from playalong.instrument.fingerboard import Fingerboard
from playalong.instrument.hand import Stop
from playalong.music.pitch import Pitch

LEADS = ("old finger", "new finger")
GHOST_SHARE = Fraction(1, 4)  # of the departing note, taken by a ghost note that is sounded


class Kind(StrEnum):
    SAME_FINGER = "same finger"
    SUBSTITUTION = "substitution"
    EXCHANGE = "exchange"
    OLD_FINGER = "old finger leads"
    NEW_FINGER = "new finger leads"
    ACROSS_STRINGS = "across strings"
    UNHEARD = "unheard"
    HALF_STEP = "half-step slide"  # same finger and place, other accidental: no shift
    SLIDE = "slide"  # written with ~ where the hand does not shift, or is not modelled


SILENT = frozenset({Kind.UNHEARD, Kind.SUBSTITUTION, Kind.HALF_STEP})  # unless written with ~
NOTE_TO_NOTE = frozenset({Kind.SAME_FINGER, Kind.EXCHANGE, Kind.SLIDE, Kind.HALF_STEP})
ONTO_GHOST = frozenset({Kind.OLD_FINGER, Kind.ACROSS_STRINGS})  # the slide ends on a ghost note
FROM_GHOST = frozenset({Kind.NEW_FINGER})  # the slide begins at one


@dataclass(frozen=True)
class Lead:
    """Which finger leads where fingers change, by direction of the hand.

    None where the drill does not say: the old finger leads, and fingers that cross exchange.
    """

    up: str | None = None
    down: str | None = None


@dataclass(frozen=True)
class Travel:
    """One finger's way along one string.

    `start` and `end` are what its place would sound. In an old-finger shift `end` is the ghost
    note, in a new-finger shift `start` is.
    """

    kind: Kind
    string: str | None
    finger: int | None
    start: Pitch
    end: Pitch
    travel_mm: float | None  # None where no string is known
    ghost: Pitch | None = None

    @property
    def told_mm(self) -> float | None:
        """The way as everything that tells of it rounds it, to a tenth."""
        return None if self.travel_mm is None else round(self.travel_mm, 1)


def travel_between(
    old: Stop, new: Stop, lead: Lead, board: Fingerboard, *, heard: bool
) -> Travel | None:
    """The shift from one stopped note to the next, or None where the hand stays.

    `heard` is False over an open string or a rest, or where the drill asks for silence.
    """
    same_string = old.string == new.string
    same_pitch = old.pitch.key_number == new.pitch.key_number
    if old.position == new.position:
        other_accidental = old.pitch.index == new.pitch.index and not same_pitch
        if same_string and old.finger == new.finger and other_accidental:
            return _way(Kind.HALF_STEP, board, old.string, old.finger, old.pitch, new.pitch)
        return None
    if same_string and same_pitch and old.finger == new.finger:
        return None  # the position is only renamed
    if not heard:
        return _first_finger_way(old, new, board)
    if not same_string:
        return _old_finger_way(Kind.ACROSS_STRINGS, old, new, board)
    if old.finger == new.finger:
        return _way(Kind.SAME_FINGER, board, old.string, old.finger, old.pitch, new.pitch)
    if same_pitch:
        return _new_finger_way(Kind.SUBSTITUTION, old, new, board)
    upward = new.position > old.position
    crossing = (new.finger < old.finger) if upward else (new.finger > old.finger)
    leading = lead.up if upward else lead.down
    if crossing and leading is None:
        return _old_finger_way(Kind.EXCHANGE, old, new, board)
    if leading == "new finger":
        return _new_finger_way(Kind.NEW_FINGER, old, new, board)
    return _old_finger_way(Kind.OLD_FINGER, old, new, board)


def _way(
    kind: Kind,
    board: Fingerboard,
    string: str,
    finger: int,
    start: Pitch,
    end: Pitch,
    ghost: Pitch | None = None,
) -> Travel:
    mm = abs(board.place_mm(string, end) - board.place_mm(string, start))
    return Travel(kind, string, finger, start, end, mm, ghost)


def _old_finger_way(kind: Kind, old: Stop, new: Stop, board: Fingerboard) -> Travel:
    ghost = board.standing(old.string, new.position, old.finger)
    if ghost is None:
        return _without_ghost(old, new, board)
    return _way(kind, board, old.string, old.finger, old.pitch, ghost, ghost=ghost)


def _new_finger_way(kind: Kind, old: Stop, new: Stop, board: Fingerboard) -> Travel:
    start = board.standing(new.string, old.position, new.finger)
    if start is None:
        return _without_ghost(old, new, board)
    ghost = start if kind in FROM_GHOST else None
    return _way(kind, board, new.string, new.finger, start, new.pitch, ghost=ghost)


def _without_ghost(old: Stop, new: Stop, board: Fingerboard) -> Travel:
    """The leading finger has no place in the other position: the fingers change on the way."""
    if old.string != new.string:
        return _first_finger_way(old, new, board)
    return _way(Kind.EXCHANGE, board, new.string, new.finger, old.pitch, new.pitch)


def _first_finger_way(old: Stop, new: Stop, board: Fingerboard) -> Travel:
    """The hand's own way, told where no slide sounds: that of its first finger."""
    first = board.hand.fingers[0]
    start = board.standing(new.string, old.position, first) or old.pitch
    end = board.standing(new.string, new.position, first) or new.pitch
    return _way(Kind.UNHEARD, board, new.string, first, start, end)
