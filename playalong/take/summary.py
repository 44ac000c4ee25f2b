"""What many notes have in common: by finger, position, string, kind of shift, direction, interval.

A group is told from five notes on, and that it tends one way only where a sign test allows it
(two-sided, at 5 % over all groups together, after Bonferroni): nine of eleven one way come by
chance once in fifteen times.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import comb
from typing import Any

import numpy as np

from playalong.instrument.position import finger_words
from playalong.take import model
from playalong.take.model import Heard, HeardNote, HeardShift

TRUE_CENTS = 5.0
FAR_CENTS = 15.0
LEAST_IN_ROW = 5
CHANCE = 0.05
LANDED_CENTS = 8.0  # an overshoot below this is none
WITHIN, OFF, FAR = "within 5 cents", "5 to 15 off", "more than 15 off"  # rows


def counted(number: float, word: str) -> str:
    """`1 cent`, `2 cents`."""
    return f"{number:.0f} {word}{'' if round(number) == 1 else 's'}"


@dataclass(frozen=True)
class Group:
    """Notes that have something in common. `low`, `middle` and `high` are quartiles in cents."""

    name: str
    notes: int
    high_notes: int  # above their pitch
    low: float
    middle: float
    high: float
    tends: bool = False

    @property
    def chance_words(self) -> str:
        """`Finger 3: 10 notes, in the middle 2 cents high`."""
        middle = round(abs(self.middle))
        side = "high" if self.middle > 0 else "low"
        told = f"{counted(middle, 'cent')} {side}" if middle else "true"
        return f"{self.name}: {self.notes} notes, in the middle {told}"

    @property
    def words(self) -> str:
        """`Finger 3 after a shift up: high 9 of 10 times, typically by 12 cents (5 to 19)`."""
        is_high = self.middle > 0
        times = self.high_notes if is_high else self.notes - self.high_notes
        side = "high" if is_high else "low"
        ends = sorted((abs(self.low), abs(self.high))) if self.low * self.high > 0 else ()
        quartiles = f" ({ends[0]:.0f} to {ends[1]:.0f})" if ends else ""
        return (
            f"{self.name}: {side} {times} of {self.notes} times, "
            f"typically by {abs(self.middle):.0f} cents{quartiles}"
        )

    def data(self) -> dict[str, Any]:
        return {
            "name": self.name,
            "notes": self.notes,
            "high": self.high_notes,
            "quartiles_cents": [round(each, 1) for each in (self.low, self.middle, self.high)],
            "tends": self.tends,
        }


@dataclass(frozen=True)
class Classes:
    """How many notes lie how far off; open strings are not among them."""

    within_5: tuple[HeardNote, ...]
    within_15: tuple[HeardNote, ...]
    beyond: tuple[HeardNote, ...]
    typical_cents: float | None  # half of all notes are nearer


def judged_notes(notes: Iterable[HeardNote]) -> list[HeardNote]:
    """Stopped notes whose distance from the written pitch is known."""
    return [each for each in notes if each.verdict == model.JUDGED and each.note.finger != 0]


def open_strings(notes: Iterable[HeardNote]) -> list[HeardNote]:
    return [each for each in notes if each.verdict == model.JUDGED and each.note.finger == 0]


def row_of(note: HeardNote) -> str:
    """In which row of the summary a note is counted."""
    if note.verdict != model.JUDGED or note.cents is None:
        return note.verdict
    off = abs(note.cents)
    return WITHIN if off <= TRUE_CENTS else OFF if off <= FAR_CENTS else FAR


def classes(notes: Iterable[HeardNote]) -> Classes:
    judged = judged_notes(notes)
    within, off, far = (
        tuple(each for each in judged if row_of(each) == row) for row in (WITHIN, OFF, FAR)
    )
    typical = float(np.median([abs(each.cents or 0.0) for each in judged])) if judged else None
    return Classes(within, off, far, typical)


def groups(takes: Sequence[Heard]) -> list[Group]:
    """Every group with enough notes, over all takes together; those that tend one way first."""
    values: dict[str, list[float]] = defaultdict(list)
    for heard in takes:
        shifted = {shift.into for shift in heard.shifts}
        for note in judged_notes(heard.notes):
            for name in _names(note, note.index in shifted):
                values[name].append(note.cents or 0.0)
    kept = {name: each for name, each in values.items() if len(each) >= LEAST_IN_ROW}
    found = [_group(name, np.array(each), len(kept)) for name, each in kept.items()]
    return sorted(found, key=lambda group: (not group.tends, -abs(group.middle)))


def _names(note: HeardNote, shifted: bool) -> Iterable[str]:
    written, slide = note.note, note.note.slide
    if written.finger is not None:
        yield finger_words(written.finger).capitalize()
    if written.position is not None:
        yield "Half position" if written.position == 0 else f"Position {written.position}"
    if written.string is not None:
        yield f"{written.string} string"
    if slide is None or not shifted or slide.from_hz == slide.to_hz:
        return
    way = "up" if slide.to_hz > slide.from_hz else "down"
    yield f"After a shift {way}"
    yield f"After a shift, {slide.kind}"
    if written.finger is not None:
        yield f"{finger_words(written.finger).capitalize()} after a shift {way}"
    semitones = round(abs(12 * np.log2(slide.to_hz / slide.from_hz)))
    yield f"After a shift of {semitones} half step{'s' * (semitones != 1)} {way}"


def _group(name: str, cents: np.ndarray, rows: int) -> Group:
    low, middle, high = np.percentile(cents, [25, 50, 75])
    ups = int((cents > 0).sum())
    tends = sign_chance(ups, len(cents)) * rows < CHANCE and abs(middle) > TRUE_CENTS
    return Group(name, len(cents), ups, float(low), float(middle), float(high), bool(tends))


def sign_chance(ups: int, count: int) -> float:
    """How often so uneven a split, or a more uneven one, comes by chance (two-sided sign test)."""
    fewer = min(ups, count - ups)
    tail = sum(comb(count, each) for each in range(fewer + 1)) / 2**count
    return float(min(1.0, 2 * tail))


@dataclass(frozen=True)
class Landings:
    """How the shifts of a take came in; `stayed` on a pitch that is not the note's."""

    true: tuple[HeardShift, ...]
    stayed: tuple[HeardShift, ...]
    past: tuple[HeardShift, ...]
    short: tuple[HeardShift, ...]
    unknown: tuple[HeardShift, ...]

    @property
    def past_cents(self) -> float | None:
        return _median([shift.overshoot_cents for shift in self.past])

    @property
    def settled_ms(self) -> float | None:
        return _median([shift.settled_ms for shift in self.past])

    @property
    def short_cents(self) -> float | None:
        cents = _median([shift.overshoot_cents for shift in self.short])
        return None if cents is None else -cents


def landings(heard: Heard) -> Landings:
    cents = {note.index: note.cents or 0.0 for note in heard.notes}
    by_kind: dict[str, list[HeardShift]] = defaultdict(list)
    for shift in heard.shifts:
        by_kind[landed(shift, cents[shift.into])].append(shift)
    return Landings(*(tuple(by_kind[kind]) for kind in ("true", "stayed", "past", "short", "")))


def landed(shift: HeardShift, held_cents: float) -> str:
    """`true`, `stayed`, `past`, `short`, or nothing where it is not known."""
    over = shift.overshoot_cents
    if over is None:
        return ""
    if abs(over) > LANDED_CENTS:
        return "past" if over > 0 else "short"
    return "true" if abs(held_cents) <= LANDED_CENTS else "stayed"


def _median(values: Iterable[float | None]) -> float | None:
    known = [each for each in values if each is not None]
    return float(np.median(known)) if known else None
