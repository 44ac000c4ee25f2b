"""The markings of each note: finger, string, bow, slur, slides."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby

from playalong.engraving.written_score import WrittenScore
from playalong.score.model import Note


@dataclass(frozen=True)
class Markings:
    finger: int | None
    harmonic: bool
    string: str | None  # only where it is new
    bow: str | None  # down or up, where it is marked
    simile: bool  # from here on the bowing goes on as it is marked
    slur_start: bool
    slur_stop: bool
    slur_is_grace: bool  # the slur that stops here leads from grace notes alone
    slide_start: bool  # to the next note, from this head and not from a ghost note
    slide_stop: bool  # from the note before, to this head and not to a ghost note


def markings(written: WrittenScore) -> tuple[Markings, ...]:
    """The markings of every note, in order."""
    notes = written.notes
    stands, marked, upbeat = _bows_of_stands(written)
    bows, slurs = dict(_bows(stands, marked, upbeat)), list(_slurs(notes))
    simile = [number for bow in stands for number in bow][marked : marked + 1]
    first, last = {start for start, _ in slurs}, {stop: start for start, stop in slurs}
    ways = {number: notes[number].arrival for number in written.slides}
    from_heads = {number for number, way in ways.items() if not (way and way.slides_from_ghost)}
    to_heads = {number for number, way in ways.items() if not (way and way.slides_onto_ghost)}
    return tuple(
        Markings(
            finger=note.finger,
            harmonic=note.touched is not None,
            string=note.string if not number or notes[number - 1].string != note.string else None,
            bow=bows.get(number),
            simile=number in simile,
            slur_start=number in first,
            slur_stop=number in last,
            slur_is_grace=number in last
            and all(each.is_grace for each in notes[last[number] : number]),
            slide_start=number + 1 in from_heads,
            slide_stop=number in to_heads,
        )
        for number, note in enumerate(notes)
    )


def _bows(stands: Sequence[Sequence[int]], marked: int, upbeat: int) -> Iterator[tuple[int, str]]:
    """Down and up in turn: the first `marked` bows, and where each starting position turns them.

    The first bow after an upbeat is a down-bow (common practice).
    """
    for count, number in enumerate(number for bows in stands for number in bows):
        turned = len(stands[0]) % 2 and not count % len(stands[0])
        if count < marked or turned:
            yield number, "up" if (count + upbeat) % 2 else "down"


def _bows_of_stands(written: WrittenScore) -> tuple[list[list[int]], int, int]:
    """The first note of every bow, by starting position; how many make the bowing clear; how many
    lie in an upbeat as a whole.

    Those are all of the first starting position where it has slurs, and the first two of
    separate bows.
    """
    if not written.instrument.strings:
        return [], 0, 0
    timed = [each for each in enumerate(written.notes) if not each[1].is_grace]
    bows = [
        [list(bow) for _, bow in groupby(stand, key=lambda each: each[1].bow)]
        for _, stand in groupby(timed, key=lambda each: each[1].stand)
    ]
    slurred = any(len(bow) > 1 for bow in bows[0])
    upbeat = sum(bow[-1][1].beat < 0 for bow in bows[0])
    stands = [[bow[0][0] for bow in stand] for stand in bows]
    return stands, len(stands[0]) if slurred else 2 + upbeat % 2, upbeat


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
