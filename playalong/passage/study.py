"""The shifts of a passage, the hardest first.

Kinds, ghost notes and millimetres are those that `explain` tells, since they are read from the
written drill. How the parts of the difficulty weigh against each other is from memory.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from playalong.instrument.shift import NO_SHIFT, Kind, Travel
from playalong.passage.costs import SHORTEST_SECONDS, Sounding
from playalong.score.model import Note, Score

_HALF_STEP = 1 - 2 ** (-1 / 12)  # of the string from a place to the bridge
_MM_A_SECOND = 400.0  # that weigh as much as a tenth of the string
_TARGET_MM = 8.0  # of a half step at the target, that weigh as much
_WEAK_FINGER = 4
KINDS = {
    Kind.OLD_FINGER: 0.8,
    Kind.NEW_FINGER: 1.0,
    Kind.EXCHANGE: 1.0,
    Kind.CONTRARY: 1.0,
    Kind.ACROSS_STRINGS: 1.4,
    Kind.SUBSTITUTION: 0.6,
    Kind.HAND_FOLLOWS: 0.4,
}


@dataclass(frozen=True)
class Shift:
    """One shift: the numbers of the stopped notes that it leads between, and why it is hard."""

    old: int
    new: int
    travel: Travel
    difficulty: dict[str, float]

    @property
    def total(self) -> float:
        return sum(self.difficulty.values())


def shifts_of(score: Score, notes: list[Sounding]) -> tuple[Shift, ...]:
    """Every shift in one pass of a passage, the hardest first."""
    found = list(_shifts(score, score.climb[0].fresh, notes))
    return tuple(sorted(found, key=lambda shift: -shift.total))


def hardest(shifts: tuple[Shift, ...], score: Score, most: int) -> tuple[Shift, ...]:
    """The hardest that differ in their notes, fingers or places."""
    played, distinct = score.climb[0].fresh, dict[object, Shift]()
    for shift in shifts:
        distinct.setdefault((played[shift.old].stop, played[shift.new].stop), shift)
    return tuple(distinct.values())[:most]


def _shifts(score: Score, played: tuple[Note, ...], notes: list[Sounding]) -> Iterator[Shift]:
    stopped: int | None = None
    for number, note in enumerate(played):
        travel = note.arrival
        if stopped is not None and travel and travel.kind not in NO_SHIFT:
            seconds = notes[number - 1].seconds + notes[number].rest_seconds
            slurred = not notes[number].new_bow and travel.kind is not Kind.UNHEARD
            parts = dict(_difficulty(score, played[stopped], note, travel, seconds))
            parts |= {"within a bow": 0.4} if slurred else {}
            yield Shift(stopped, number, travel, parts)
        stopped = number if note.stop else stopped


def _difficulty(
    score: Score, old: Note, new: Note, travel: Travel, seconds: float
) -> Iterator[tuple[str, float]]:
    """Its parts, those that weigh nothing left out; `seconds` are those of the note before."""
    board, length_mm = score.board, score.instrument.string_length_mm
    mm = travel.hand_travel_mm or 0.0
    yield "travel", 10 * mm / length_mm
    share = float(score.drill.slide.share)
    yield "speed", mm / (share * max(seconds, SHORTEST_SECONDS)) / _MM_A_SECOND
    if weight := KINDS.get(travel.kind):
        yield "kind", weight
    if old.position and new.position and new.position.number < old.position.number:
        yield "downward", 0.3
    if new.string:
        to_bridge_mm = length_mm - board.place_mm(new.string, new.pitch)
        yield "small spaces", _TARGET_MM / (to_bridge_mm * _HALF_STEP)
    if new.finger == _WEAK_FINGER:
        yield "fourth finger", 0.3
