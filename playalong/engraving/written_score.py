"""Score -> what stands on the staff: bars with notes, rests and ghost notes.

There is one pass of each starting position. Both the MusicXML and the engraving are made from
these bars, so the two cannot disagree.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import cached_property
from itertools import count

from playalong.drill.bars import WrittenBar, place_of
from playalong.engraving.clefs import OCTAVE, Clef, clefs_of, octave_signs
from playalong.engraving.note_values import (
    NoteValue,
    grace_value,
    in_whole_tuplets,
    note_values,
    rest_values,
)
from playalong.instrument.instruments import Instrument
from playalong.instrument.position import Position
from playalong.instrument.shift import GHOST_SHARE
from playalong.music.key import Key
from playalong.music.meter import Meter
from playalong.music.pitch import Pitch
from playalong.score.explanation import Twin, twins
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
    def is_grace(self) -> bool:
        return not self.value.length

    @property
    def id(self) -> str:
        return f"n{self.number}" + (f"-{self.piece}" if self.piece else "")


@dataclass(frozen=True)
class Bar:
    number: int | None  # None for an upbeat, and a bar of click between passes
    stand: int  # number of its starting position, from 1
    first: bool  # of its starting position
    last: bool
    notes_and_rests: tuple[NoteOrRest, ...]
    meter: Meter
    key: Key
    is_upbeat: bool = False
    ends_part: bool = False  # a double bar line follows
    ghosts: tuple[Ghost, ...] = ()

    @property
    def length(self) -> Fraction:
        return sum((each.value.length for each in self.notes_and_rests), Fraction(0))

    @property
    def is_silent(self) -> bool:
        """Whether it is a whole bar of rest."""
        rests = all(each.note is None for each in self.notes_and_rests)
        return rests and self.length == self.meter.bar


@dataclass(frozen=True)
class WrittenScore:
    """A score as it is written on the staff."""

    score: Score
    bars: tuple[Bar, ...]
    slides: frozenset[int]  # numbers of the notes that a drawn slide leads to

    @cached_property
    def clefs(self) -> tuple[Clef, ...]:
        """One for each bar, in which its ghost notes can be read too."""
        read = self.instrument.as_written
        heads = [
            [*self._indexes(bar), *(read(ghost.pitch).index for ghost in bar.ghosts)]
            for bar in self.bars
        ]
        return tuple(clefs_of(self.instrument, heads))

    @cached_property
    def octave_signs(self) -> tuple[tuple[int, int], ...]:
        """First and last note of each stretch that is written an octave lower, under 8va."""
        found: list[tuple[int, int]] = []
        before = None  # starting position of the note before, if it stands under one
        for clef, bar in zip(self.clefs, self.bars, strict=True):
            heads = [each for each in bar.notes_and_rests if each.note]
            for each, here in zip(
                heads, octave_signs(self.instrument, clef, self._indexes(bar)), strict=True
            ):
                if here and before == bar.stand:
                    found[-1] = (found[-1][0], each.number)
                elif here:
                    found.append((each.number, each.number))
                before = bar.stand if here else None
        return tuple(found)

    def _indexes(self, bar: Bar) -> list[int]:
        """Of the notes as they are read."""
        read = self.instrument.as_written
        return [read(each.note.pitch).index for each in bar.notes_and_rests if each.note]

    def above_middle(self, bar: int, each: NoteOrRest) -> int:
        """Where a note's head stands, in letters above the middle line; 0 for a rest."""
        if each.note is None:
            return 0
        lowered = any(first <= each.number <= last for first, last in self.octave_signs)
        index = self.instrument.as_written(each.note.pitch).index
        return index - OCTAVE * lowered - self.clefs[bar].middle

    @cached_property
    def notes(self) -> tuple[Note, ...]:
        return self.score.notes

    @cached_property
    def twins(self) -> dict[int, Twin]:
        """Bars that repeat an earlier one, by their numbers."""
        return twins(self.score)

    @cached_property
    def positions(self) -> dict[int, tuple[Position, str]]:
        """By note number, position and what stands beside it: see `position_words`."""
        return {
            number: (note.position, self.score.named(note).beside)
            for number, note in enumerate(self.notes)
            if note.stop and note.position
        }

    @cached_property
    def new_positions(self) -> dict[int, tuple[Position, str]]:
        """The same, wherever the hand takes a new one."""
        found = dict[int, tuple[Position, str]]()
        last: tuple[Position, str] | None = None
        for number, position in self.positions.items():
            if position != last:
                found[number] = last = position
        return found

    @property
    def instrument(self) -> Instrument:
        return self.score.instrument

    @property
    def octave_clef(self) -> bool:
        """A treble clef with a small 8 below: it sounds as it is named."""
        return self.instrument.transposition.octaves < 0 and self.instrument.clef == "treble"


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
    return WrittenScore(score, tuple(_bars(score, slides)), slides)


def _bars(score: Score, slides: frozenset[int]) -> Iterator[Bar]:
    drill, written = score.drill, score.drill.bars
    pieces: dict[tuple[int, int], list[NoteOrRest]] = defaultdict(list)  # by stand and bar of it
    for where, piece in _pieces(score):
        pieces[where].append(piece)
    ghosts: dict[tuple[int, int], list[Ghost]] = defaultdict(list)
    for where, ghost in _ghosts(score, slides):
        ghosts[where].append(ghost)
    for stand in range(1, len(score.climb) + 1):
        ends = stand == len(score.climb) and drill.passes == 1
        gap = 0 if ends else drill.gap  # bars of click before what follows
        for place, bar in enumerate(written):
            last = place == len(written) - 1
            rest = drill.upbeat_length if last and gap else Fraction(0)
            yield Bar(
                None if bar.is_upbeat else (stand - 1) * drill.bar_count + bar.number,
                stand,
                first=not place,
                last=last and not gap,
                notes_and_rests=tuple(_filled(pieces[stand, place], bar, rest)),
                ghosts=tuple(ghosts[stand, place]),
                meter=bar.meter,
                key=bar.key or score.key,
                is_upbeat=bar.is_upbeat,
                ends_part=bar.ends_part,
            )
        for each in range(gap):
            last = each == gap - 1
            length = drill.meter.bar - (drill.upbeat_length if last else 0)
            rests = tuple(_rests(Fraction(0), length, drill.meter))
            yield Bar(
                None,
                stand,
                first=False,
                last=last,
                notes_and_rests=rests,
                meter=drill.meter,
                key=score.key,
            )


def _pieces(score: Score) -> Iterator[tuple[tuple[int, int], NoteOrRest]]:
    """Every note, cut where a tie leads on or no one value holds it; with its stand and bar."""
    bars = score.drill.bars
    for number, note in enumerate(score.notes):
        at, pieces = note.start, count()
        if note.is_grace:
            place = place_of(bars, at)
            row = sum(
                each.is_grace and each.start == at for each in score.climb[note.stand - 1].notes
            )
            piece = NoteOrRest(at - bars[place].line, grace_value(row), note, number)
            yield (note.stand, place), piece
            continue
        for end in (*(note.start + tie for tie in note.ties), note.end):
            place = place_of(bars, at)
            bar = bars[place]
            for value in note_values(at - bar.line, end - at, bar.meter):
                start, at = at - bar.line, at + value.length
                piece = NoteOrRest(start, value, note, number, next(pieces), at < note.end)
                yield (note.stand, place), piece


def _filled(pieces: Iterable[NoteOrRest], bar: WrittenBar, rest: Fraction) -> list[NoteOrRest]:
    """The pieces of a bar, with rests where none sounds and for `rest` quarters more."""
    found = list(_with_rests(pieces, bar, rest))
    values = iter(in_whole_tuplets([each.value for each in found if not each.is_grace]))
    return [each if each.is_grace else replace(each, value=next(values)) for each in found]


def _with_rests(
    pieces: Iterable[NoteOrRest], bar: WrittenBar, rest: Fraction
) -> Iterator[NoteOrRest]:
    at = bar.start - bar.line
    for piece in pieces:
        yield from _rests(at, piece.start - at, bar.meter)
        yield piece
        at = piece.start + piece.value.length
    yield from _rests(at, bar.end + rest - bar.line - at, bar.meter)


def _rests(at: Fraction, length: Fraction, meter: Meter) -> Iterator[NoteOrRest]:
    for value in rest_values(at, length, meter):
        yield NoteOrRest(at, value)
        at += value.length


def _ghosts(score: Score, slides: frozenset[int]) -> Iterator[tuple[tuple[int, int], Ghost]]:
    """Every heard ghost note in the time of the note that is left, with its stand and bar.

    What would begin before the bar line is written from there on.
    """
    notes, bars = score.notes, score.drill.bars
    for number in sorted(slides):
        travel, old = notes[number].arrival, notes[number - 1]
        if travel is None or not (travel.slides_onto_ghost or travel.slides_from_ghost):
            continue
        if travel.ghost is None or travel.finger is None or travel.string is None:
            continue
        place = place_of(bars, old.start + (old.ties or (0,))[-1])
        start = max(old.end - old.length * GHOST_SHARE, bars[place].start)
        ghost = Ghost(
            number,
            start - bars[place].line,
            old.end - start,
            travel.ghost,
            travel.finger,
            travel.string,
            slide_from_note=travel.slides_onto_ghost,
        )
        yield (old.stand, place), ghost
