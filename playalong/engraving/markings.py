"""The markings of each note: finger, string, bow, slur, slides."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby

from playalong.engraving.written_score import WrittenScore
from playalong.instrument.shift import FROM_GHOST, ONTO_GHOST, Kind
from playalong.score.model import Note


@dataclass(frozen=True)
class Markings:
    finger: int | None
    string: str | None  # only where it is new
    bow: str | None  # down or up, where it is marked
    slur_start: bool
    slur_stop: bool
    slide_start: bool  # to the next note, from this head and not from a ghost note
    slide_stop: bool  # from the note before, to this head and not to a ghost note


def markings(written: WrittenScore) -> tuple[Markings, ...]:
    """The markings of every note, in order."""
    notes = written.notes
    bows, slurs = dict(_bows(written)), list(_slurs(notes))
    first, last = {start for start, _ in slurs}, {stop for _, stop in slurs}
    kinds = {number: _kind(notes[number]) for number in written.slides}
    from_heads = {number for number, kind in kinds.items() if kind not in FROM_GHOST}
    to_heads = {number for number, kind in kinds.items() if kind not in ONTO_GHOST}
    return tuple(
        Markings(
            finger=note.finger,
            string=note.string if not number or notes[number - 1].string != note.string else None,
            bow=bows.get(number),
            slur_start=number in first,
            slur_stop=number in last,
            slide_start=number + 1 in from_heads,
            slide_stop=number in to_heads,
        )
        for number, note in enumerate(notes)
    )


def _kind(note: Note) -> Kind | None:
    return note.arrival.kind if note.arrival else None


def _bows(written: WrittenScore) -> Iterator[tuple[int, str]]:
    """Down and up in turn; of separate bows the first two of each starting position only."""
    if not written.instrument.strings:
        return
    notes = list(enumerate(written.notes))
    before = 0  # bows written before
    for _, stand in groupby(notes, key=lambda each: each[1].stand):
        bows = [list(bow) for _, bow in groupby(stand, key=lambda each: each[1].bow)]
        slurred = any(len(bow) > 1 for bow in bows)
        for count, bow in enumerate(bows):
            if slurred or count < 2:
                yield bow[0][0], "up" if (before + count) % 2 else "down"
        before += len(bows)


def _slurs(notes: Sequence[Note]) -> Iterator[tuple[int, int]]:
    """First and last of each run of notes in one bow that touch each other."""
    start = 0
    for number in range(1, len(notes) + 1):
        joined = (
            number < len(notes)
            and notes[number].bow == notes[number - 1].bow
            and notes[number].start == notes[number - 1].end
        )
        if not joined:
            if number - start > 1:
                yield start, number - 1
            start = number
