"""Shifts: what kind each is, which finger travels, and where the ghost note lies.

A shift is a change of position between two stopped notes. Its kind follows from the fingers.
The ghost note is where the leading finger stands at the silent end of the travel: the old
finger's place in the new position (the guide-note rule of the shifting literature, common
practice), or the new finger's place in the old position.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from playalong.instrument.fingerboard import Hand, Stop
from playalong.music.pitch import Pitch

LEADS = ("old finger", "new finger")


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


def travel_between(old: Stop, new: Stop, lead: Lead, hand: Hand, *, heard: bool) -> Travel | None:
    """The shift from one stopped note to the next, or None where the hand stays.

    `heard` is False over an open string or a rest, or where the drill asks for silence.
    """
    same_string = old.string == new.string
    same_pitch = old.pitch.key_number == new.pitch.key_number
    if old.position == new.position:
        other_accidental = old.pitch.index == new.pitch.index and not same_pitch
        if same_string and old.finger == new.finger and other_accidental:
            return _way(Kind.HALF_STEP, hand, old.string, old.finger, old.pitch, new.pitch)
        return None
    if same_string and same_pitch and old.finger == new.finger:
        return None  # the position is only renamed
    if not heard:
        return _first_finger_way(old, new, hand)
    if not same_string:
        return _old_finger_way(Kind.ACROSS_STRINGS, old, new, hand)
    if old.finger == new.finger:
        return _way(Kind.SAME_FINGER, hand, old.string, old.finger, old.pitch, new.pitch)
    if same_pitch:
        start = hand.frame_pitch(new.string, old.position, new.finger)
        return _way(Kind.SUBSTITUTION, hand, new.string, new.finger, start, new.pitch)
    upward = new.position > old.position
    crossing = (new.finger < old.finger) if upward else (new.finger > old.finger)
    leading = lead.up if upward else lead.down
    if crossing and leading is None:
        return _old_finger_way(Kind.EXCHANGE, old, new, hand)
    if leading != "new finger":
        return _old_finger_way(Kind.OLD_FINGER, old, new, hand)
    start = hand.frame_pitch(new.string, old.position, new.finger)
    return _way(Kind.NEW_FINGER, hand, new.string, new.finger, start, new.pitch, ghost=start)


def _way(
    kind: Kind,
    hand: Hand,
    string: str,
    finger: int,
    start: Pitch,
    end: Pitch,
    ghost: Pitch | None = None,
) -> Travel:
    mm = abs(hand.place_mm(string, end) - hand.place_mm(string, start))
    return Travel(kind, string, finger, start, end, mm, ghost)


def _old_finger_way(kind: Kind, old: Stop, new: Stop, hand: Hand) -> Travel:
    ghost = hand.frame_pitch(old.string, new.position, old.finger)
    return _way(kind, hand, old.string, old.finger, old.pitch, ghost, ghost=ghost)


def _first_finger_way(old: Stop, new: Stop, hand: Hand) -> Travel:
    start = hand.frame_pitch(new.string, old.position, 1)
    end = hand.frame_pitch(new.string, new.position, 1)
    return _way(Kind.UNHEARD, hand, new.string, 1, start, end)
