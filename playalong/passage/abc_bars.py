"""Bars of an ABC tune: how many a file may hold, and those of a tune without bar lines."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from fractions import Fraction
from math import ceil

from playalong.passage.model import PassageError, ScoreBar, ScoreNote

CUT = "the tune has no bar lines; its bars are cut by the meter"


class Room:
    """How much a file may still hold, over all its tunes."""

    def __init__(self, bars: int, notes: int) -> None:
        self.bars, self.notes = bars, notes

    def take(self, *, bars: int = 0, notes: int = 0) -> None:
        self.bars -= bars
        self.notes -= notes
        if self.bars < 0 or self.notes < 0:
            raise PassageError("the ABC file holds too much to be read at once; cut a tune out")


def cut_by_meter(bar: ScoreBar, room: Room) -> Iterator[ScoreBar]:
    """A bar that holds several of its meter as so many: what reaches over a line is tied there.
    Without a meter it stays as it is."""
    count = ceil(bar.length / bar.full)
    if bar.meter is None or count < 2:
        yield bar
        return
    room.take(bars=count)
    notes: list[list[ScoreNote]] = [[] for _ in range(count)]
    for note in bar.notes:
        for place, piece in _pieces(note, bar.full, count):
            room.take(notes=1)
            notes[place].append(piece)
    for place, own in enumerate(notes):
        first, last = place == 0, place == count - 1
        yield replace(
            bar,
            length=bar.length - place * bar.full if last else bar.full,
            notes=tuple(own),
            repeats=tuple(each for each in bar.repeats if (first if each == "forward" else last)),
            endings=bar.endings if first else (),
            tempo=bar.tempo if first else None,
            words=bar.words if first else (),
            told=(*bar.told, CUT) if first else (CUT,),
        )


def _pieces(note: ScoreNote, full: Fraction, count: int) -> Iterator[tuple[int, ScoreNote]]:
    """What a note is in each bar that it reaches into, with its place. All are `full` long."""
    at, end = note.at, note.at + note.length
    while True:
        place = min(int(at // full), count - 1)  # a grace note may end the last
        stop = min(end, (place + 1) * full)
        is_first, is_last = at == note.at, stop == end
        piece = replace(
            note,
            at=at - place * full,
            length=stop - at,
            tie_from_last=note.tie_from_last if is_first else note.pitch is not None,
            tie_to_next=note.tie_to_next if is_last else note.pitch is not None,
            slur_starts=note.slur_starts * is_first,
            slur_stops=note.slur_stops * is_last,
        )
        if not is_first:
            piece = replace(piece, fingers=(), other_fingers=(), ornaments=(), articulations=())
        yield place, piece
        at = stop
        if is_last:
            return
