"""What stands at each note beside its head: finger, string, bow, slur, slides."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import groupby

from playalong.engraving.written import Paper
from playalong.instrument.shift import FROM_GHOST, ONTO_GHOST, Kind
from playalong.score.model import Note


@dataclass(frozen=True)
class NoteMarks:
    finger: int | None
    string: str | None  # only where it is new
    bow: str | None  # down or up, where a bow is marked
    slur_start: bool
    slur_stop: bool
    slide_starts: tuple[int, ...]  # number of the landing note of each slide
    slide_stops: tuple[int, ...]


def note_marks(paper: Paper) -> tuple[NoteMarks, ...]:
    """The marks of every note on paper, in order."""
    notes = paper.notes
    bows = dict(_bows(paper))
    slurs = set(_slurs(notes))
    found = []
    for number, note in enumerate(notes):
        before = notes[number - 1] if number else None
        new = before is None or before.string != note.string
        found.append(
            NoteMarks(
                finger=note.finger,
                string=note.string if new else None,
                bow=bows.get(number),
                slur_start=(number, "start") in slurs,
                slur_stop=(number, "stop") in slurs,
                slide_starts=(number + 1,) if _leaves_the_note_before(paper, number + 1) else (),
                slide_stops=(number,) if _reaches_the_note(paper, number) else (),
            )
        )
    return tuple(found)


def _leaves_the_note_before(paper: Paper, landing: int) -> bool:
    """Whether a slide begins at the note before a landing, not at a ghost note."""
    return landing in paper.slides and _kind(paper, landing) not in FROM_GHOST


def _reaches_the_note(paper: Paper, landing: int) -> bool:
    """Whether a slide ends at the landing itself, not at a ghost note."""
    return landing in paper.slides and _kind(paper, landing) not in ONTO_GHOST


def _kind(paper: Paper, landing: int) -> Kind | None:
    travel = paper.notes[landing].arrival
    return travel.kind if travel else None


def _bows(paper: Paper) -> Iterator[tuple[int, str]]:
    """Down and up in turn through the whole; of separate bows the first two of each stand only."""
    if not paper.instrument.strings:
        return
    notes = list(enumerate(paper.notes))
    before = 0  # bows written before
    for _, stand in groupby(notes, key=lambda each: each[1].stand):
        bows = [list(bow) for _, bow in groupby(stand, key=lambda each: each[1].bow)]
        slurred = any(len(bow) > 1 for bow in bows)
        for count, bow in enumerate(bows):
            if slurred or count < 2:
                yield bow[0][0], "up" if (before + count) % 2 else "down"
        before += len(bows)


def _slurs(notes: tuple[Note, ...]) -> Iterator[tuple[int, str]]:
    """Runs of notes in one bow that touch each other."""
    start = 0
    for number in range(1, len(notes) + 1):
        joined = (
            number < len(notes)
            and notes[number].bow == notes[number - 1].bow
            and notes[number].start == notes[number - 1].end
        )
        if not joined:
            if number - start > 1:
                yield start, "start"
                yield number - 1, "stop"
            start = number
