"""What a fingering costs: of a note by itself, and from one note to the next.

The weights are by trial on printed fingers of public editions (`tests/bench/fingers.py` has their
names, and pieces held back), in no unit of their own: a shift between neighbouring positions costs
about as much as three string crossings in separate bows. They are few and round on purpose: near
them the agreement hardly changes.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from playalong.instrument.hand import Hand
from playalong.passage.ways import OPEN_STRING, Reach, Ways
from playalong.passage.wishes import OpenStrings, Wishes

Floats = NDArray[np.float64]
LONG_SECONDS = 0.6
FULL_REST_SECONDS = 0.4  # in which the hand moves at ease
SHORTEST_SECONDS = 0.05
LEAST_SHIFT = 0.3
HIGH_ON_LOW_STRINGS = 4  # positions above it are unusual on all but the highest string
# Half steps that fingers one, two and three apart stand from each other at ease.
CLOSEST = np.array([0, 1, 2, 4])
WIDEST = np.array([0, 2, 4, 5])


@dataclass(frozen=True)
class Sounding:
    """What the costs need to know of a note besides its pitch."""

    seconds: float
    rest_seconds: float = 0.0  # of silence before it
    new_bow: bool = True
    on_beat: bool = False
    new_phrase: bool = False

    @property
    def is_long(self) -> bool:
        return self.seconds > LONG_SECONDS


@dataclass(frozen=True)
class Weights:
    height: float = 0.1  # each position above the first
    even: float = 0.25  # second, fourth …
    half_position: float = 0.2
    low_string_high: float = 0.35  # each position above HIGH_ON_LOW_STRINGS
    reach: float = 1.6
    other_name: float = 0.15
    fourth: float = 0.35
    fourth_long: float = 0.05
    open_hand: float = 0.3  # the first finger stretched back
    fixed_place: float = 0.25  # of the hand, not of the key
    open_long: float = 0.5  # without vibrato
    open_slurred: float = 0.15
    open_high: float = 0.35  # each position that the hand waits above the first, up to three
    open_avoided: float = 2.0
    open_wanted: float = -1.0
    not_preferred: float = 0.9
    too_low: float = 6.0
    other_string: float = 3.0  # than the one to stay on
    cross: float = 0.25
    cross_slurred: float = 0.2
    cross_in_phrase: float = 0.15
    skip_string: float = 0.6
    hop: float = 0.5  # one finger, two strings
    chromatic: float = 0.7  # one finger, each half step, no shift
    stretch: float = 1.2  # each half step out of the frame
    shift: float = 1.5
    shift_mm: float = 0.012
    shift_by_one: float = 0.35  # a creeping hand
    shift_across: float = 0.8
    shift_same_finger: float = -0.3
    shift_half_step: float = -0.7
    shift_substitution: float = 1.2
    renamed: float = 0.2  # one hand by two names, closed and open
    shift_against: float = 0.6  # fingers against the hand's way
    shift_new_bow: float = -0.4
    shift_slurred: float = 0.5
    shift_on_beat: float = -0.3
    shift_open: float = -1.2
    shift_rest: float = -1.5
    haste: float = 0.0015  # each mm a second of the note left
    haste_open: float = 0.2  # of that, from an open string


# No edition of a cello or bass part was found to try weights on. The way of those hands is longer,
# so they go it less often.
LARGE_HAND = Weights(height=0.18, half_position=0.5, other_name=0.5, shift=2.2, haste=0.0035)


def weights_of(hand: Hand) -> Weights:
    """Those of a hand: one that is measured along the string is a large one's."""
    return Weights() if hand.widest_frame is None else LARGE_HAND


def note_costs(ways: Ways, note: Sounding, wishes: Wishes, w: Weights) -> Floats:
    """What each way to play a note costs by itself."""
    position, finger, string = ways.positions, ways.fingers, ways.strings
    is_open = finger == OPEN_STRING
    cost = np.zeros(len(position))
    if wishes.prefer:
        cost += w.not_preferred * ~(np.isin(position, wishes.prefer) | is_open)
    else:
        # A hand with a finger for each half step stands as well in all places.
        even = np.where(ways.half_steps, w.fixed_place * ways.fixed, w.even * (position % 2 == 0))
        unusual = np.where(position == 0, w.half_position, even)
        high = np.maximum(position - HIGH_ON_LOW_STRINGS, 0) * (string > 1)
        cost += ~is_open * (
            w.height * np.maximum(position - 1, 0) + unusual + w.low_string_high * high
        )
    cost += w.too_low * (~is_open & (position < wishes.lowest))
    if wishes.stay:
        cost += w.other_string * np.array([way.string != wishes.stay for way in ways.ways])
    cost += w.reach * (ways.reaches == Reach.EXTENDED.value)
    cost += w.other_name * (ways.reaches == Reach.OTHER_NAME.value)
    cost += (w.fourth + w.fourth_long * note.is_long) * ((finger == 4) & ~ways.half_steps)
    cost += w.open_hand * (ways.open_hands & (finger == 1))
    wish = {OpenStrings.AVOID: w.open_avoided, OpenStrings.ALWAYS: w.open_wanted}
    per_open = wish.get(wishes.open_strings, 0.0) + w.open_long * note.is_long
    per_open += w.open_slurred * (not note.new_bow)
    cost += is_open * (per_open + w.open_high * np.clip(position - 1, 0, 3))
    return cost


@dataclass(frozen=True)
class Steps:
    """From every way of one note to every way of the next, whatever their lengths and bows."""

    staying: Floats
    shift: Floats  # 0 where the hand stays
    crosses: NDArray[np.bool_]
    mm: Floats
    from_open: NDArray[np.bool_]
    over_open: NDArray[np.bool_]

    @classmethod
    def between(cls, old: Ways, new: Ways, stays: NDArray[np.bool_], w: Weights) -> Steps:
        """`stays` tells for every pair whether the hand stays where it is."""

        def both(column: str) -> tuple[Any, Any]:
            return getattr(old, column)[:, None], getattr(new, column)[None, :]

        (string, to_string), (position, to_position) = both("strings"), both("positions")
        (finger, to_finger), (place, to_place) = both("fingers"), both("semitones")
        (reach, to_reach), (hand_mm, to_hand_mm) = both("reaches"), both("hand_mm")
        (height, to_height), crosses = both("heights"), string != to_string
        stopped = (finger != OPEN_STRING) & (to_finger != OPEN_STRING)
        # The thumb stands as near to the first finger as the fingers to each other.
        apart = np.abs(np.maximum(to_finger, 0) - np.maximum(finger, 0))
        same_finger = finger == to_finger
        rise = to_place - place
        extended = (reach == Reach.EXTENDED.value) | (to_reach == Reach.EXTENDED.value)

        staying = crosses * (w.cross + w.skip_string * (np.abs(to_string - string) - 1))
        by_half_steps = old.half_steps[:, None] & new.half_steps[None, :]
        one_hand = stays & stopped & ~by_half_steps
        slides = w.hop * crosses + w.chromatic * np.abs(rise)
        span = rise * np.sign(to_finger - finger)
        fingers_apart = np.minimum(apart, len(CLOSEST) - 1)  # 4 over an open string only
        closest, widest = CLOSEST[fingers_apart], WIDEST[fingers_apart]
        outside = np.maximum(np.maximum(closest - span, span - widest), 0)
        frame = np.where(extended, 0.0, w.stretch * outside)
        staying = staying + one_hand * np.where(same_finger, slides, frame)

        staying = staying + w.renamed * (stays & (position != to_position))
        mm, up = np.abs(to_hand_mm - hand_mm), to_height > height
        shift = w.shift + w.shift_mm * mm + w.shift_across * crosses
        shift = shift + w.shift_by_one * (np.abs(to_position - position) == 1)
        fingers_rise, tune_rises = to_finger > finger, rise > 0
        exchange = (np.abs(rise) <= 2) & np.where(up, to_finger < finger, fingers_rise)
        wide = np.where(up, to_finger > finger + 1, to_finger < finger - 1)
        against = np.where(up, rise < 0, tune_rises)
        others = w.shift_half_step * exchange / np.where(np.abs(rise) == 1, 1, 2)
        others = others + w.shift_against * (wide.astype(int) + against)
        same = w.shift_same_finger + w.shift_half_step * (np.abs(rise) == 1)
        changed = np.where(same_finger, same, others)
        shift = shift + (stopped & ~crosses) * np.where(rise == 0, w.shift_substitution, changed)
        shift = np.where(stays, 0.0, shift)
        from_open = np.broadcast_to(finger == OPEN_STRING, stays.shape)
        return cls(staying, shift, crosses, mm, from_open, ~stopped)

    def costs(self, old: Sounding, new: Sounding, w: Weights) -> Floats:
        crossing = w.cross_slurred * (not new.new_bow) + w.cross_in_phrase * (not new.new_phrase)
        rest = w.shift_rest * min(new.rest_seconds / FULL_REST_SECONDS, 1.0)
        fixed = rest + (w.shift_new_bow if new.new_bow else w.shift_slurred)
        fixed += w.shift_on_beat * new.on_beat
        haste = w.haste * self.mm / max(old.seconds, SHORTEST_SECONDS)
        shift = self.shift + fixed + w.shift_open * self.over_open
        shift += haste * np.where(self.from_open, w.haste_open, 1.0)
        moves: Floats = np.where(self.shift > 0, np.maximum(shift, LEAST_SHIFT), 0.0)
        return self.staying + crossing * self.crosses + moves
