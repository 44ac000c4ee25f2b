"""Where notes of a MIDI file stand: the place that was meant, beat by beat.

A file that a notation program wrote meets a grid to a tick, and then that grid is taken, fine as it
may be. Where it does not, somebody played: the nearest sixteenth or triplet is taken, and told.
"""

from __future__ import annotations

from bisect import bisect_right
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from statistics import median

# Parts of a quarter, plain ones first, and those that a player's onsets are laid on.
WRITTEN_PARTS = (1, 2, 3, 4, 6, 8, 12, 16, 5, 7)
PLAYED_PARTS = (1, 2, 4, 3, 6)
EXACT_QUARTERS = 1 / 128
FINER_COSTS = 1 / 64  # of a quarter: how much nearer a finer grid must be
LEAST_HELD_SHARE = 0.75  # of the time to the next note; what is held for less is short
END_PARTS = 4  # of a quarter, that ends fall on where the onsets' own are no nearer


@dataclass(frozen=True)
class Played:
    """One note, in ticks from the beginning of the file."""

    start: int
    end: int
    key: int


@dataclass(frozen=True)
class Placed:
    """The same on the grid, in quarters. `is_moved` where its onset met none."""

    start: Fraction
    end: Fraction
    key: int
    is_moved: bool


def placed(notes: Sequence[Played], ticks: int) -> list[Placed]:
    """All notes of a part on a grid, in order; so many ticks are a quarter."""
    beats = defaultdict[int, set[int]](set)
    for note in notes:
        beats[note.start // ticks].add(note.start)
    exact_ticks = max(EXACT_QUARTERS * ticks, 0.5)  # half a tick is lost by rounding
    grids = {beat: _grid(onsets, ticks, exact_ticks) for beat, onsets in beats.items()}
    starts = [_nearest(note.start, grids[note.start // ticks][0], ticks) for note in notes]
    onsets = sorted(set(starts))
    following = [onsets[bisect_right(onsets, start) :][:1] for start in starts]
    share = _held_share(notes, following, ticks)
    found = dict[tuple[Fraction, int], Placed]()
    for note, start, after in zip(notes, starts, following, strict=True):
        parts, is_moved = grids[note.start // ticks]
        end = _end(note, after, share, parts, ticks, exact_ticks)
        if end <= start:
            end = start + Fraction(1, max(END_PARTS, parts))
        found.setdefault((start, note.key), Placed(start, end, note.key, is_moved))
    return sorted(found.values(), key=lambda each: (each.start, each.key))


def _held_share(
    notes: Sequence[Played], following: Sequence[Sequence[Fraction]], ticks: int
) -> float:
    """How much of its time a note is held, as a rule of this file."""
    shares = [
        (note.end - note.start) / (float(onset) * ticks - note.start)
        for note, after in zip(notes, following, strict=True)
        for onset in after
    ]
    return min(max(median(shares or [1]), LEAST_HELD_SHARE), 1)


def _grid(onsets: Iterable[int], ticks: int, exact_ticks: float) -> tuple[int, bool]:
    """Into how many parts a quarter with these onsets is cut, and whether they were off."""
    for parts in WRITTEN_PARTS:
        if all(_off_ticks(onset, parts, ticks) <= exact_ticks for onset in onsets):
            return parts, False
    costs = [
        max(_off_ticks(onset, parts, ticks) for onset in onsets) + FINER_COSTS * ticks * rank
        for rank, parts in enumerate(PLAYED_PARTS)
    ]
    return PLAYED_PARTS[costs.index(min(costs))], True


def _off_ticks(at: int, parts: int, ticks: int) -> float:
    """How far a tick is from the nearest place of a grid."""
    over = at * parts % ticks
    return min(over, ticks - over) / parts


def _nearest(at: int, parts: int, ticks: int) -> Fraction:
    return Fraction((2 * at * parts + ticks) // (2 * ticks), parts)


def _end(
    note: Played,
    following: Sequence[Fraction],
    share: float,
    parts: int,
    ticks: int,
    exact_ticks: float,
) -> Fraction:
    """Where a note ends: on the grid, as it stands or by the rule of the file; or with the next one
    where it was let go of a little early; or near the grid."""
    by_rule = note.start + round((note.end - note.start) / share)
    for end in (note.end, by_rule):
        for each in (END_PARTS, parts):
            if _off_ticks(end, each, ticks) <= exact_ticks:
                return _nearest(end, each, ticks)
    for onset in following:
        room = float(onset) * ticks - note.start
        if abs(room - (note.end - note.start)) < (1 - LEAST_HELD_SHARE) * room:
            return onset
    return _nearest(by_rule, max(parts, END_PARTS), ticks)
