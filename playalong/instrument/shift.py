"""Shifts: what kind each is, which finger travels, and where the ghost note lies.

A shift is a change of position between two stopped notes. Its kind follows from the fingers.
The ghost note is where the leading finger stands at the silent end of the travel: the old
finger's place in the new position (the guide-note rule of the shifting literature, common
practice), or the new finger's place in the old position.

A shift has two lengths: how far the hand travels, which is the way of its first finger's place
and the same both ways, and the way of what slides.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import StrEnum
from fractions import Fraction

from playalong.instrument.fingerboard import Fingerboard
from playalong.instrument.hand import Stop
from playalong.instrument.position import THUMB
from playalong.music.pitch import Pitch

FIRST_FINGER = 1  # its place says where the hand stands
LEADS = ("old finger", "new finger")
GHOST_SHARE = Fraction(1, 4)  # of the departing note, taken by a ghost note that is sounded


class Kind(StrEnum):
    SAME_FINGER = "same finger"
    SUBSTITUTION = "substitution"
    EXCHANGE = "exchange"
    OLD_FINGER = "old finger leads"
    NEW_FINGER = "new finger leads"
    CONTRARY = "contrary"  # the hand goes one way and the tune the other
    HAND_FOLLOWS = "hand follows"  # the finger that leads stands there already
    ACROSS_STRINGS = "across strings"
    UNHEARD = "unheard"
    HALF_STEP = "half-step slide"  # same finger and place, other accidental: no shift
    SLIDE = "slide"  # written with ~ where the hand does not shift, or is not modelled


NO_SHIFT = frozenset({Kind.HALF_STEP, Kind.SLIDE})
FINGERS_STAY = frozenset({Kind.CONTRARY, Kind.HAND_FOLLOWS})  # none slides from note to note
SILENT = FINGERS_STAY | {Kind.UNHEARD, Kind.SUBSTITUTION, Kind.HALF_STEP}  # unless written with ~
NOTE_TO_NOTE = NO_SHIFT | {Kind.SAME_FINGER, Kind.EXCHANGE}


@dataclass(frozen=True)
class Lead:
    """Which finger leads where fingers change, by direction of the hand.

    None where the drill does not say: the old finger leads, fingers that cross exchange, and
    where hand and tune go opposite ways nothing slides.
    """

    up: str | None = None
    down: str | None = None


@dataclass(frozen=True)
class Travel:
    """One finger's way along one string, and how far the hand goes.

    `start` and `end` are what its places would sound. Where nothing slides the finger is the
    hand's first; where one finger takes over from another on the way, there is none.
    """

    kind: Kind
    string: str | None
    finger: int | None
    start: Pitch
    end: Pitch
    travel_mm: float | None  # None where no string is known
    ghost: Pitch | None = None
    hand_travel_mm: float | None = None  # None where no hand is modelled

    @property
    def slides_onto_ghost(self) -> bool:
        """Whether a slide along this way ends on the ghost note."""
        return self._leads and self.ghost == self.end

    @property
    def slides_from_ghost(self) -> bool:
        """Whether a slide along this way begins at the ghost note."""
        return self._leads and self.ghost == self.start

    @property
    def _leads(self) -> bool:
        return self.ghost is not None and self.kind not in NOTE_TO_NOTE

    @property
    def told_mm(self) -> float | None:
        """How far the hand travels, as the player is told; of a slide in one hand, its length."""
        return self.travel_mm if self.kind in NO_SHIFT else self.hand_travel_mm


def travel_between(
    old: Stop, new: Stop, lead: Lead, board: Fingerboard, *, heard: bool
) -> Travel | None:
    """The shift from one stopped note to the next, or None where the hand stays.

    `heard` is False over an open string or a rest, or where the drill asks for silence.
    """
    same_string = old.string == new.string
    same_pitch = old.pitch.key_number == new.pitch.key_number
    if board.is_same_hand(new.string, old.position, new.position):
        other_accidental = old.pitch.index == new.pitch.index and not same_pitch
        if same_string and old.finger == new.finger and other_accidental:
            way = _way(Kind.HALF_STEP, board, old.string, old.finger, old.pitch, new.pitch)
            return replace(way, hand_travel_mm=0.0)
        return None
    if same_string and same_pitch and old.finger == new.finger:
        return None  # the position is only renamed
    way = _shift(old, new, lead, board) if heard else _first_finger_way(old, new, board)
    return replace(way, hand_travel_mm=_hand_travel_mm(old, new, board))


def _shift(old: Stop, new: Stop, lead: Lead, board: Fingerboard) -> Travel:
    """A shift that may be heard."""
    same_string = old.string == new.string
    if same_string and old.finger == new.finger:
        return _way(Kind.SAME_FINGER, board, old.string, old.finger, old.pitch, new.pitch)
    if same_string and old.pitch.key_number == new.pitch.key_number:
        return _substitution(old, new, board)
    upward = board.height(new.string, new.position) > board.height(old.string, old.position)
    written = lead.up if upward else lead.down
    leading = _leading_way(old, new, written, board)
    if leading is not None and not _goes(leading.start, leading.end, upward=upward):
        return replace(leading, kind=Kind.HAND_FOLLOWS, ghost=None)
    if not same_string:
        return leading or _first_finger_way(old, new, board)
    if leading is None or written is None:
        if not _goes(old.pitch, new.pitch, upward=upward):
            return replace(_first_finger_way(old, new, board), kind=Kind.CONTRARY)
        crossing = (new.finger < old.finger) if upward else (new.finger > old.finger)
        if crossing or leading is None:
            ghost = leading.ghost if leading else None
            return _way(Kind.EXCHANGE, board, new.string, None, old.pitch, new.pitch, ghost)
    return leading


def _way(
    kind: Kind,
    board: Fingerboard,
    string: str,
    finger: int | None,
    start: Pitch,
    end: Pitch,
    ghost: Pitch | None = None,
) -> Travel:
    mm = abs(board.place_mm(string, end) - board.place_mm(string, start))
    return Travel(kind, string, finger, start, end, mm, ghost)


def _goes(start: Pitch, end: Pitch, *, upward: bool) -> bool:
    """Whether the way from one pitch to the other is the hand's, up or down."""
    return start.key_number < end.key_number if upward else start.key_number > end.key_number


def _substitution(old: Stop, new: Stop, board: Fingerboard) -> Travel:
    """The new finger's way to the note that it takes over."""
    start = board.standing(new.string, old.position, new.finger) or old.pitch
    return _way(Kind.SUBSTITUTION, board, new.string, new.finger, start, new.pitch)


def _leading_way(old: Stop, new: Stop, written: str | None, board: Fingerboard) -> Travel | None:
    """The leading finger's way to its ghost note or from it.

    None where it has no place in the other position, or where the thumb comes on the string or
    goes off it: no finger leads it.
    """
    thumb_moves = old.position.thumb != new.position.thumb
    if thumb_moves and THUMB in (old.finger, new.finger):
        return None
    across = Kind.ACROSS_STRINGS if old.string != new.string else None
    ends: tuple[Pitch | None, Pitch | None]
    if written == "new finger":
        ghost = board.standing(new.string, old.position, new.finger)
        kind, leader, ends = across or Kind.NEW_FINGER, new, (ghost, new.pitch)
    else:
        ghost = board.standing(old.string, new.position, old.finger)
        kind, leader, ends = across or Kind.OLD_FINGER, old, (old.pitch, ghost)
    start, end = ends
    if start is None or end is None:
        return None
    return _way(kind, board, leader.string, leader.finger, start, end, ghost)


def _first_finger_way(old: Stop, new: Stop, board: Fingerboard) -> Travel:
    """The hand's own way, told where no slide sounds: that of its first finger."""
    mm = _hand_travel_mm(old, new, board)
    start, end = _first_finger(old, board), _first_finger(new, board)
    return Travel(Kind.UNHEARD, new.string, FIRST_FINGER, start, end, mm)


def _first_finger(stop: Stop, board: Fingerboard) -> Pitch:
    """Where the hand's first finger stands, on the string that the hand plays."""
    return board.standing(stop.string, stop.position, FIRST_FINGER) or stop.pitch


def _hand_travel_mm(old: Stop, new: Stop, board: Fingerboard) -> float:
    start, end = (board.place_mm(stop.string, _first_finger(stop, board)) for stop in (old, new))
    return abs(end - start)


def tenths(mm: float | None) -> float | None:
    """Millimetres as data tell them."""
    return None if mm is None else round(mm, 1)
