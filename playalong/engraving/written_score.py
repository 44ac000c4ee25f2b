"""Score -> what stands on the staff: bars with notes, rests and ghost notes.

There is one pass of each starting position. Both the MusicXML and the engraving are made from
these bars, so the two cannot disagree.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property

from playalong.engraving.clefs import Clef, best_clef
from playalong.engraving.note_values import NoteValue, note_values, rest_values
from playalong.instrument.instruments import Instrument
from playalong.instrument.shift import FROM_GHOST, GHOST_SHARE, ONTO_GHOST
from playalong.music.meter import Meter
from playalong.music.pitch import Pitch
from playalong.score.model import Note, Score


@dataclass(frozen=True)
class Ghost:
    """A ghost note: a small head in parentheses, in the time of the note that is left."""

    number: int  # of the note that it leads to
    start: Fraction  # quarters from the bar line
    length: Fraction
    pitch: Pitch  # sounding
    finger: int
    string: str
    slide_from_note: bool  # the slide ends here; else it begins here

    @property
    def id(self) -> str:
        return f"g{self.number}"


@dataclass(frozen=True)
class NoteOrRest:
    """One note or rest of a bar. A note tied on has further ones with the same number."""

    start: Fraction  # quarters from the bar line
    value: NoteValue
    note: Note | None = None  # None for a rest
    number: int = -1  # of the note in the score, from 0
    piece: int = 0  # from 1 on, tied to the one before
    tied_on: bool = False  # to the next piece

    @property
    def id(self) -> str:
        return f"n{self.number}" + (f"-{self.piece}" if self.piece else "")


@dataclass(frozen=True)
class Bar:
    number: int | None  # None for a bar of click between passes
    stand: int  # number of its starting position, from 1
    first: bool  # of its starting position
    last: bool
    notes_and_rests: tuple[NoteOrRest, ...]
    ghosts: tuple[Ghost, ...] = ()

    @property
    def is_silent(self) -> bool:
        return all(each.note is None for each in self.notes_and_rests)


@dataclass(frozen=True)
class WrittenScore:
    """A score as it is written on the staff."""

    score: Score
    bars: tuple[Bar, ...]
    clef: Clef
    slides: frozenset[int]  # numbers of the notes that a drawn slide leads to

    @cached_property
    def notes(self) -> tuple[Note, ...]:
        return self.score.notes

    @cached_property
    def new_positions(self) -> dict[int, int]:
        """Position by note number, wherever the hand takes a new one."""
        found, last = {}, None
        for number, note in enumerate(self.notes):
            if note.position not in (None, last):
                found[number] = last = note.position
        return found

    @property
    def instrument(self) -> Instrument:
        return self.score.drill.instrument

    @property
    def octave_clef(self) -> bool:
        """A treble clef with a small 8 below: it sounds as it is named."""
        return self.instrument.octaves < 0 and self.instrument.clef == "treble"


def write_down(score: Score, *, slides_over_repeats: bool = True) -> WrittenScore:
    """The written bars of a score. LengthError for a note too short to be written.

    Without `slides_over_repeats` no slide and no ghost note leads from one starting position to
    the next where a repeat sign stands between.
    """
    notes = score.notes
    repeats = score.drill.passes > 1
    slides = frozenset(
        number
        for number, note in enumerate(notes)
        if number and note.heard
        if slides_over_repeats or not repeats or notes[number - 1].stand == note.stand
    )
    clef = best_clef(score.drill.instrument, (note.pitch for note in notes))
    return WrittenScore(score, tuple(_bars(score, slides)), clef, slides)


def _bars(score: Score, slides: frozenset[int]) -> Iterator[Bar]:
    drill, meter = score.drill, score.drill.meter
    count = len(drill.pattern.bars)
    notes: dict[int, list[tuple[int, Note]]] = defaultdict(list)
    for number, note in enumerate(score.notes):
        notes[note.bar].append((number, note))
    ghosts: dict[int, list[Ghost]] = defaultdict(list)
    for bar, ghost in _ghosts(score, slides):
        ghosts[bar].append(ghost)
    for number in range(1, len(score.climb) * count + 1):
        stand = (number - 1) // count + 1
        last = number % count == 0
        ends = last and stand == len(score.climb) and drill.passes == 1
        gap = drill.gap if last and not ends else 0  # bars of click before what follows
        yield Bar(
            number,
            stand,
            first=(number - 1) % count == 0,
            last=last and not gap,
            notes_and_rests=tuple(_notes_and_rests(notes[number], meter)),
            ghosts=tuple(ghosts[number]),
        )
        for each in range(gap):
            rests = tuple(_rests(Fraction(0), meter.bar, meter))
            yield Bar(None, stand, first=False, last=each == gap - 1, notes_and_rests=rests)


def _notes_and_rests(notes: Sequence[tuple[int, Note]], meter: Meter) -> Iterator[NoteOrRest]:
    at = Fraction(0)
    for number, note in notes:
        start = note.beat * meter.beat
        yield from _rests(at, start - at, meter)
        at = start
        values = note_values(start, note.length, meter)
        for piece, value in enumerate(values):
            yield NoteOrRest(at, value, note, number, piece, tied_on=piece < len(values) - 1)
            at += value.length
    yield from _rests(at, meter.bar - at, meter)


def _rests(at: Fraction, length: Fraction, meter: Meter) -> Iterator[NoteOrRest]:
    for value in rest_values(at, length, meter):
        yield NoteOrRest(at, value)
        at += value.length


def _ghosts(score: Score, slides: frozenset[int]) -> Iterator[tuple[int, Ghost]]:
    """Every heard ghost note with the number of the bar that it stands in."""
    notes = score.notes
    for number in sorted(slides):
        travel, old = notes[number].arrival, notes[number - 1]
        if travel is None or travel.kind not in ONTO_GHOST | FROM_GHOST:
            continue
        if travel.ghost is None or travel.finger is None or travel.string is None:
            continue
        length = old.length * GHOST_SHARE
        start = old.beat * score.drill.meter.beat + old.length - length
        ghost = Ghost(
            number,
            start,
            length,
            travel.ghost,
            travel.finger,
            travel.string,
            slide_from_note=travel.kind in ONTO_GHOST,
        )
        yield old.bar, ghost
