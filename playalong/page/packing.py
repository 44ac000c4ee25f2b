"""Timelines -> columns of numbers, small enough for a page, which it unpacks by looking up.

A time is the number of its block of 64 frames. A *column* is a list of values in one of the forms
of `packed`; a column of *steps* holds its first value and then how far each is from the one before.
Every column stands once in the table `columns`, and what is made of columns names them by number:

    music    [grid, guide, travels]: the number of each in its own table
    grid     what the stages of one tempo share, in any key and on any string
        0 beats      steps: where each beat begins, and after the last of them the music's end
        1 counts     of each bar, how many beats it has
        2 bars       of each bar its number: 0 in the count-in, null where the click is alone
        3 passes     of each bar, 0 in the count-in
        4 notes      steps: which of the key's and string's written notes each note is, from 0
        5 starts     steps: where each note begins
        6 lengths    how long each lasts
        7 upbeats    of each bar, the beat at which it begins: 0, or less in an upbeat to it
        8 given      start and length of the first note as the count-in gives it; may be empty
    guide    what a stage gives to hear at a tempo
        0 turns      of each bar, what the guide does in its pass: s it sounds, l its landings
                     enter late, - it is silent
        1 sounds     the same of each note
        2 late       of each note, how long after its start it is heard
        3 leads      of each slide, how long before the note that it leads to it begins
        4 lengths    of each slide
        5 ghosts     of each slide: 0 no ghost note sounds, 1 one without a length, 2 one that is
                     held up to the note
        6 heard      of each slide, 1 where it sounds and 0 where only the hand moves
    travels  where the hand goes on its slides, the same at any tempo that has room for them
        0 landings   steps: the place among the track's notes of the note that each leads to
        1 fingers    the finger that slides
        2 from       hundredths of a cent above the tonic
        3 shapes     the number of the column with its curve: steps, tenths of a cent above `from`
                     at equal shares of the slide's time, with straight lines between them

A slide without a length is left out: there is nothing of it to see or to hear.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any

from playalong.music.temperament import cents
from playalong.page.curves import Shapes
from playalong.page.tables import LETTERS, Table, packed, steps
from playalong.performance.clock import BLOCK_FRAMES, SAMPLE_RATE_HZ
from playalong.performance.timeline import Timeline, TimelineNote, TimelineSlide

FROM_UNITS = 100  # in a cent

Beat = tuple[int, float]  # bar, and beats from its bar line


def written_notes(timeline: Timeline) -> dict[Beat, TimelineNote]:
    """Each note of the written bars in its first pass, in order."""
    notes: dict[Beat, TimelineNote] = {}
    for note in timeline.notes:
        if not note.is_given:
            notes.setdefault((note.bar, note.beat), note)
    return dict(sorted(notes.items()))


class Packing:
    """The tables that all tracks of a page share."""

    def __init__(self) -> None:
        self._columns = Table()
        self._grids, self._guides, self._travels, self._musics = (Table() for _ in range(4))
        self._shapes = Shapes(self._columns)

    def number(self, timeline: Timeline, written: Iterable[Beat], bars: int) -> int:
        """The number of a timeline's music, where `bars` bars make a pass."""
        track = _Track(timeline, bars)
        numbers = {beat: number for number, beat in enumerate(written)}
        travels = [
            *(self._column(column) for column in track.travels()),
            self._column(self._shapes.number(slide) for _, slide in track.slides),
        ]
        music = (
            self._grids.number([self._column(column) for column in track.grid(numbers)]),
            self._guides.number([self._column(column) for column in track.guide()]),
            self._travels.number(travels),
        )
        return self._musics.number(music)

    def _column(self, values: Iterable[Any]) -> int:
        return self._columns.number(packed(values))

    def data(self) -> dict[str, Any]:
        return {
            "letters": LETTERS,
            "columns": self._columns.values,
            "grids": self._grids.values,
            "guides": self._guides.values,
            "travels": self._travels.values,
            "musics": self._musics.values,
        }


class _Track:
    """The columns of one timeline."""

    def __init__(self, timeline: Timeline, bars_in_pass: int) -> None:
        self.timeline, self.bars_in_pass = timeline, bars_in_pass
        self.notes = [note for note in timeline.notes if not note.is_given]
        self.first_bar = next((bar.bar for bar in timeline.bars if bar.pass_number), None) or 1
        self.slides = [
            (place, note.slide)
            for place, note in enumerate(self.notes)
            if note.slide and note.slide.curve
        ]

    def grid(self, numbers: Mapping[Beat, int]) -> Iterator[Sequence[Any]]:
        bars = self.timeline.bars
        beats = [_block(beat) for bar in bars for beat in bar.beats_seconds]
        yield steps([*beats, _block(bars[-1].to_seconds)])
        yield [len(bar.beats_seconds) for bar in bars]
        yield [bar.bar for bar in bars]
        yield [bar.pass_number for bar in bars]
        yield steps([numbers[note.bar, note.beat] for note in self.notes])
        yield steps([_block(note.from_seconds) for note in self.notes])
        yield [_length(note) for note in self.notes]
        yield [bar.beat for bar in bars]
        given = [note for note in self.timeline.notes if note.is_given]
        yield [number for note in given for number in (_block(note.from_seconds), _length(note))]

    def guide(self) -> Iterator[Sequence[Any]]:
        turns: dict[tuple[int, int], str] = {}
        for note in self.notes:
            playing = self._playing(note.bar, note.pass_number)
            turns[playing] = max(turns.get(playing, "-"), _sounds(note), key="-ls".index)
        yield [
            turns.get(self._playing(bar.bar or 0, bar.pass_number), "-")
            for bar in self.timeline.bars
        ]
        yield [_sounds(note) for note in self.notes]
        yield [
            _blocks(note.from_seconds, note.heard_from_seconds or note.from_seconds)
            for note in self.notes
        ]
        yield [
            _blocks(slide.from_seconds, self.notes[place].from_seconds)
            for place, slide in self.slides
        ]
        yield [_length(slide) for _, slide in self.slides]
        yield [_ghost(self.notes[place].ghost) for place, _ in self.slides]
        yield [int(slide.sounds) for _, slide in self.slides]

    def travels(self) -> Iterator[Sequence[Any]]:
        tonic_hz = self.timeline.tonic_hz
        yield steps([place for place, _ in self.slides])
        yield [slide.finger for _, slide in self.slides]
        yield [round(cents(slide.from_hz, tonic_hz) * FROM_UNITS) for _, slide in self.slides]

    def _playing(self, bar: int, pass_number: int) -> tuple[int, int]:
        """Which starting position, and which pass of it."""
        return (bar - self.first_bar) // self.bars_in_pass, pass_number


def _block(seconds: float) -> int:
    """The block whose time a timeline states."""
    return round(seconds * SAMPLE_RATE_HZ / BLOCK_FRAMES)


def _blocks(start: float, end: float) -> int:
    return _block(end) - _block(start)


def _length(entry: TimelineNote | TimelineSlide) -> int:
    return _blocks(entry.from_seconds, entry.to_seconds)


def _sounds(note: TimelineNote) -> str:
    if note.heard_from_seconds is not None:
        return "l"
    return "s" if note.sounds else "-"


def _ghost(ghost: TimelineNote | None) -> int:
    if ghost is None or not ghost.sounds:
        return 0
    return 2 if _length(ghost) else 1
