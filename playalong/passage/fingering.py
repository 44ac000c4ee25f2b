"""String, position and finger for every note of a line: the cheapest way through all of them.

A dynamic programme over the ways to play each note. Printed fingers and strings are kept where a
hand can, and where not it is told.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import pairwise, product

import numpy as np
from numpy.typing import NDArray

from playalong.instrument.fingerboard import Fingerboard
from playalong.instrument.instruments import Instrument
from playalong.instrument.position import Position
from playalong.music.key import Key
from playalong.music.meter import Meter
from playalong.music.pitch import Pitch
from playalong.passage.costs import Floats, Sounding, Steps, Weights, note_costs, weights_of
from playalong.passage.line import Line, LineNote
from playalong.passage.model import NATURAL, PassageError
from playalong.passage.ways import OPEN_STRING, Way, Ways, ways_of
from playalong.passage.wishes import Wishes

PHRASE_REST_SECONDS = 0.6
MOST_POSITIONS = 1000  # of one hand, by number and mark
NEARLY_THE_SAME = 0.35  # in costs: as little as a finger of fourth position instead of third


@dataclass(frozen=True)
class Printed:
    """What the score asks for a note, as far as it does."""

    finger: int | None = None
    string: str | None = None
    touched: bool = False  # as a natural harmonic


@dataclass(frozen=True)
class Choice:
    way: Way
    printed: Printed = Printed()
    other: Way | None = None  # another that costs nearly the same

    @property
    def is_kept(self) -> bool:
        """Whether the finger is the score's own."""
        return self.printed.finger is not None and self.printed.finger == self.way.finger

    @property
    def breaks(self) -> bool:
        """Whether something that the score asks for is not done."""
        finger, string = self.printed.finger, self.printed.string
        return finger not in (None, self.way.finger) or string not in (None, self.way.string)


def choose(
    line: Line, boards: Sequence[Fingerboard], wishes: Wishes, quarters_a_minute: float
) -> tuple[Choice, ...]:
    """A choice for every note; `boards` are those of the bars, each in its key.

    PassageError names the note that no finger reaches.
    """
    found = _search(line, boards, wishes, quarters_a_minute)
    return tuple(
        Choice(each.ways[best], asked, _other(each, best, through))
        for each, asked, best, through in zip(
            found.ways, found.printed, found.path, found.costs, strict=True
        )
    )


def ranked(
    line: Line, boards: Sequence[Fingerboard], wishes: Wishes, quarters_a_minute: float
) -> tuple[tuple[Way, ...], ...]:
    """For every note its ways, by what the cheapest fingering costs that takes them. Of those that
    look the same to a player there is the first."""
    found = _search(line, boards, wishes, quarters_a_minute)
    ordered = list[tuple[Way, ...]]()
    for ways, through in zip(found.ways, found.costs, strict=True):
        distinct = dict[tuple[str, int, Position | None], Way]()
        for number in np.argsort(through, kind="stable"):
            distinct.setdefault(_told(ways.ways[number]), ways.ways[number])
        ordered.append(tuple(distinct.values()))
    return tuple(ordered)


@dataclass(frozen=True)
class _Search:
    """Of every note its ways, what the score asks for, the number of the way that is taken, and for
    every way what the cheapest fingering costs that takes it."""

    ways: list[Ways]
    printed: list[Printed]
    path: list[int]
    costs: list[Floats]


def _search(
    line: Line, boards: Sequence[Fingerboard], wishes: Wishes, quarters_a_minute: float
) -> _Search:
    lattice = _Lattice(wishes, weights_of(boards[0].hand))
    printed = [_printed(note, boards[0].instrument, wishes) for note in line.notes]
    ways = [
        lattice.ways(boards[note.bar], note, asked, line)
        for note, asked in zip(line.notes, printed, strict=True)
    ]
    steps = [
        lattice.steps(*pair, boards[note.bar])
        for pair, note in zip(pairwise(ways), line.notes[1:], strict=True)
    ]
    notes = soundings(line, quarters_a_minute)
    path, costs = _cheapest(
        [lattice.own(*each) for each in zip(ways, notes, strict=True)],
        [lattice.step(*each) for each in zip(steps, notes, notes[1:], strict=False)],
    )
    return _Search(ways, printed, path, costs)


def soundings(line: Line, quarters_a_minute: float) -> list[Sounding]:
    """What the costs need to know of each note, at a tempo."""
    seconds, found, last = 60 / quarters_a_minute, list[Sounding](), None
    for note in line.notes:
        rest = 0.0 if last is None else float(note.start - last.end) * seconds
        found.append(
            Sounding(
                float(note.length) * seconds,
                rest,
                new_bow=last is None or last.bow != note.bow,
                on_beat=not note.is_grace and _on_beat(note, line),
                new_phrase=rest > PHRASE_REST_SECONDS,
            )
        )
        last = note
    return found


def _on_beat(note: LineNote, line: Line) -> bool:
    meter = line.bars[note.bar].meter or Meter(4, 4)
    return (note.printed.at / meter.beat).denominator == 1


def _printed(note: LineNote, instrument: Instrument, wishes: Wishes) -> Printed:
    head, names = note.printed, instrument.string_names
    touched = head.harmonic == NATURAL
    if wishes.own_fingers:
        return Printed(touched=touched)
    finger = head.fingers[0] if head.fingers else (OPEN_STRING if head.is_open else None)
    number = head.strings[0] if head.strings else 0
    return Printed(finger, names[number - 1] if 1 <= number <= len(names) else None, touched)


@dataclass
class _Lattice:
    """The ways of each pitch in a key and the steps between two, with their costs, each once."""

    wishes: Wishes
    weights: Weights
    found: dict[tuple[Key, Pitch, Printed], Ways] = field(default_factory=dict)
    between: dict[tuple[int, int, Key], Steps] = field(default_factory=dict)
    positions: dict[Position, int] = field(default_factory=dict)  # numbered as they come
    stays: dict[tuple[Key, int], bool] = field(default_factory=dict)
    owns: dict[tuple[int, bool, bool], Floats] = field(default_factory=dict)
    costs: dict[tuple[int, float, Sounding], Floats] = field(default_factory=dict)

    def ways(self, board: Fingerboard, note: LineNote, asked: Printed, line: Line) -> Ways:
        key = (board.key, note.pitch, asked)
        if key not in self.found:
            self.found[key] = Ways(self.asked(board, note, asked, line))
        return self.found[key]

    def asked(
        self, board: Fingerboard, note: LineNote, asked: Printed, line: Line
    ) -> tuple[Way, ...]:
        """What the score asks for, or else all; beyond the wished range where nothing is in it."""
        ranges = (self.wishes.highest, False), (board.hand.highest_position, True)
        touches = (True, False) if asked.touched else (False,)
        for touched, (highest, thumb) in product(touches, ranges):
            ways = tuple(ways_of(board, note.pitch, highest, thumb=thumb, touched=touched))
            kept = tuple(way for way in ways if asked.finger in (None, way.finger))
            both = tuple(way for way in kept if asked.string in (None, way.string))
            on_string = tuple(way for way in ways if asked.string in (None, way.string))
            if found := both or kept or on_string or ways:
                return found
        instrument, bar = board.instrument, line.bar_of(note)
        side = "above the highest"
        if note.pitch.key_number < instrument.lowest.key_number:
            side = f"below {instrument.as_written(instrument.lowest)}, the lowest"
        name = instrument.as_written(note.pitch)
        raise PassageError(f"bar {bar}: {name} lies {side} note of the {instrument.name}")

    def steps(self, old: Ways, new: Ways, board: Fingerboard) -> Steps:
        """`board` is that of the new note."""
        key = (id(old), id(new), board.key)
        if key not in self.between:
            self.between[key] = Steps.between(
                old, new, self.one_hand(board, old, new), self.weights
            )
        return self.between[key]

    def own(self, ways: Ways, note: Sounding) -> Floats:
        key = (id(ways), note.is_long, note.new_bow)
        if key not in self.owns:
            self.owns[key] = note_costs(ways, note, self.wishes, self.weights)
        return self.owns[key]

    def step(self, steps: Steps, old: Sounding, new: Sounding) -> Floats:
        key = (id(steps), old.seconds, new)
        if key not in self.costs:
            self.costs[key] = steps.costs(old, new, self.weights)
        return self.costs[key]

    def one_hand(self, board: Fingerboard, old: Ways, new: Ways) -> NDArray[np.bool_]:
        """Whether the hand stays from every way to every way, as a drill would tell it."""
        one, two = self.numbered(old)[:, None], self.numbered(new)[None, :]
        stays: NDArray[np.bool_] = one == two
        differ = ~stays & (old.half_steps[:, None] | new.half_steps[None, :])
        if differ.any():
            # Each string and pair of positions is asked for once.
            pairs = (new.strings[None, :] * MOST_POSITIONS + one) * MOST_POSITIONS + two
            asked, first, place = np.unique(pairs[differ], return_index=True, return_inverse=True)
            for pair, (row, column) in zip(asked, np.argwhere(differ)[first], strict=True):
                key = (board.key, int(pair))
                if key not in self.stays:
                    way, to_way = old.ways[row], new.ways[column]
                    self.stays[key] = board.is_same_hand(
                        to_way.string, way.position, to_way.position
                    )
            stays[differ] = np.array([self.stays[board.key, int(pair)] for pair in asked])[place]
        return stays

    def numbered(self, ways: Ways) -> NDArray[np.int64]:
        """The positions of ways, as numbers."""
        known = self.positions
        return np.array([known.setdefault(way.position, len(known)) for way in ways.ways])


def _cheapest(own: Sequence[Floats], steps: Sequence[Floats]) -> tuple[list[int], list[Floats]]:
    """The number of each note's way in the cheapest fingering; and for every way of each note,
    what the cheapest fingering costs that takes it."""
    before, came_from = [own[0]], list[NDArray[np.intp]]()
    for step, costs in zip(steps, own[1:], strict=True):
        through = before[-1][:, None] + step
        came_from.append(through.argmin(axis=0))
        before.append(through.min(axis=0) + costs)
    path = [int(before[-1].argmin())]
    for last in reversed(came_from):
        path.append(int(last[path[-1]]))
    after = [np.zeros(len(own[-1]))]
    for step, costs in zip(reversed(steps), reversed(own[1:]), strict=True):
        after.append((step + (costs + after[-1])[None, :]).min(axis=1))
    return path[::-1], [one + two for one, two in zip(before, reversed(after), strict=True)]


def _other(ways: Ways, best: int, through: Floats) -> Way | None:
    """The cheapest way by another finger, string or place, if it costs nearly the same."""
    near = np.flatnonzero(through - through[best] < NEARLY_THE_SAME)
    told = _told(ways.ways[best])
    rivals = [number for number in near if _told(ways.ways[number]) != told]
    return ways.ways[min(rivals, key=lambda number: through[number])] if rivals else None


def _told(way: Way) -> tuple[str, int, Position | None]:
    """What a player sees of a way: not where the hand waits over an open string, nor whether a hand
    that has a finger for each half step is closed or open."""
    is_seen = way.finger != OPEN_STRING and not way.place.by_half_steps
    return way.string, way.finger, way.position if is_seen else None
