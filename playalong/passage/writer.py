"""A fingered line as bar notation, whole or some of its notes with rests for the others."""

from __future__ import annotations

import re
from bisect import bisect_left
from collections import Counter, defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property

from playalong.drill.notation import DOTTED
from playalong.instrument.fingerboard import Fingerboard
from playalong.instrument.instruments import Instrument
from playalong.instrument.position import Position, finger_name
from playalong.music.meter import NOTE_LENGTHS, Meter
from playalong.music.pitch import Pitch
from playalong.passage.drill_text import WrittenBar
from playalong.passage.fingering import Choice
from playalong.passage.line import Line
from playalong.passage.model import PassageError
from playalong.passage.ways import OPEN_STRING, Way


def meters_of(line: Line) -> tuple[Meter, ...]:
    """Bar by bar. PassageError for one that no drill knows, or that its notes overfill."""
    found = []
    for bar in line.bars:
        if bar.meter is None:
            raise PassageError(
                f"bar {bar.number} has no meter that a drill knows ({bar.meter_words})"
            )
        if bar.length > bar.meter.bar:
            raise PassageError(f"bar {bar.number} holds more than its meter, {bar.meter}")
        found.append(bar.meter)
    return tuple(found)


@dataclass(frozen=True)
class Fingered:
    """A line with its fingering on an instrument."""

    line: Line
    choices: tuple[Choice, ...]
    boards: tuple[Fingerboard, ...]  # of each bar, in its key

    @property
    def instrument(self) -> Instrument:
        return self.boards[0].instrument

    def board(self, number: int) -> Fingerboard:
        """The fingerboard in the key that a note is in."""
        return self.boards[self.line.notes[number].bar]

    @cached_property
    def meters(self) -> tuple[Meter, ...]:
        """Bar by bar."""
        return meters_of(self.line)

    @cached_property
    def unit(self) -> Fraction:
        """The plain note, in quarters: the one that needs the fewest lengths written."""
        lengths = Counter(note.length for note in self.line.notes)

        def plain(unit: Fraction) -> int:
            return 2 * lengths[unit] + lengths[unit * DOTTED]

        return max(NOTE_LENGTHS.values(), key=plain)

    @property
    def note_name(self) -> str:
        return next(name for name, length in NOTE_LENGTHS.items() if length == self.unit)

    @cached_property
    def upbeat(self) -> Fraction:
        """Quarters before the first bar line; 0 where the first bar is whole, or filled up.

        The last bar is as much shorter as printed; or it is made so by a rest, where only an
        upbeat lets the other bars keep their numbers.
        """
        meters, places = self.meters, self.spanned(None)
        missing = [meter.bar - self.line.bars[place].length for place, meter in enumerate(meters)]
        length = self.line.bars[0].length
        joins = len(missing) > 2 and not any(missing[1:-1]) and length == missing[-1]
        keeps = self._counted(places) is None and self._counted(places[1:]) is not None
        leads_in = missing[0] and 0 < length < min(meter.bar for meter in meters)
        return length if leads_in and (joins or keeps) else Fraction(0)

    @property
    def closing_rest(self) -> Fraction:
        """Quarters of a bar of rest that an upbeat fills when the passage comes again; or 0."""
        left = self.meters[-1].bar - self.upbeat
        return left if self.upbeat and self.line.bars[-1].length > left else Fraction(0)

    def written_length(self, place: int) -> Fraction:
        """Quarters of a bar of the passage in its drill: whole, but for an upbeat."""
        bar, meter = self.line.bars[place], self.meters[place]
        if self.upbeat and not place:
            return bar.length
        ends = place == len(self.line.bars) - 1 and not self.closing_rest
        return meter.bar - self.upbeat if ends else meter.bar

    @property
    def filled(self) -> tuple[str, ...]:
        """The printed numbers of short bars that are filled up."""
        bars = enumerate(self.line.bars)
        return tuple(bar.number for place, bar in bars if bar.length < self.written_length(place))

    def first_bar(self, numbers: range | None = None) -> int | None:
        """The printed number of the first whole bar; None where the others do not go on from it.

        `numbers` as in `bars`.
        """
        places = self.spanned(numbers)
        return self._counted(places[1:] if numbers is None and self.upbeat else places)

    def _counted(self, places: range) -> int | None:
        printed = [self.line.bars[place].number for place in places]
        if not printed or not re.fullmatch("[1-9][0-9]{0,3}", printed[0]):
            return None
        first = int(printed[0])
        counted = [str(number) for number in range(first, first + len(printed))]
        return first if printed == counted else None

    def bars(self, numbers: range | None = None) -> list[WrittenBar]:
        """The bars that these notes lie in, each filled; all bars with their upbeat if left out."""
        notes = range(len(self.line.notes)) if numbers is None else numbers
        bars = _Bars(self, notes, always_filled=numbers is not None)
        found = list(bars.texts(self.spanned(numbers)))
        if numbers is None and self.closing_rest:
            found.append(found[-1]._replace(text=bars.rest(self.closing_rest)))
        return found

    def spanned(self, numbers: range | None) -> range:
        """The places of the bars that notes lie in, of all bars if left out."""
        line = self.line
        if numbers is None:
            return range(len(line.bars))
        last = line.notes[numbers[-1]]
        end = next(
            place
            for place in reversed(range(len(line.bars)))
            if line.starts[place] < last.end or place == 0
        )
        return range(line.notes[numbers[0]].bar, end + 1)


@dataclass
class _Bars:
    """Bar by bar; what holds on from one token to the next."""

    fingered: Fingered
    numbers: range
    always_filled: bool = False
    string: str | None = None
    position: Position | None = None

    def texts(self, places: range) -> Iterator[WrittenBar]:
        line = self.fingered.line
        for place in places:
            meter = self.fingered.meters[place]
            bar, start = line.bars[place], line.starts[place]
            words = list(self.words(start, start + bar.length))
            whole = meter.bar if self.always_filled else self.fingered.written_length(place)
            missing = whole - bar.length
            if missing:
                leads_in = place == 0 and len(line.bars) > 1
                filling = self.rest(missing)
                if not leads_in and self.goes_on(start + bar.length):
                    filling = f"_{self.length(missing)}"
                words.insert(0 if leads_in else len(words), filling)
            yield WrittenBar(meter, self.fingered.boards[place].key, " ".join(words))

    def goes_on(self, end: Fraction) -> bool:
        """Whether a note leads over the end of a bar."""
        notes = (self.fingered.line.notes[number] for number in self.numbers)
        return any(note.start < end < note.end for note in notes)

    def words(self, start: Fraction, end: Fraction) -> Iterator[str]:
        """What is written from one time of the passage to another."""
        notes, at = self.fingered.line.notes, start
        # From the note that may go on from the bar before.
        first = max(bisect_left(notes, start, key=lambda note: note.start) - 1, self.numbers.start)
        for number in range(first, self.numbers.stop):
            note = notes[number]
            if note.start >= end:
                break
            if note.start < start if note.is_grace else note.end <= start:
                continue
            begins, ends = max(note.start, start), min(note.end, end)
            if begins > at:
                yield self.rest(begins - at)
                at = begins
            length = self.length(ends - begins) if ends > begins else ""
            if begins == note.start:
                yield from self.head(number, length)
            else:
                yield f"_{length}"
            if ends == note.end and self.closes_bow(number):
                yield ")"
            at = ends
        if at < end:
            yield self.rest(end - at)

    def head(self, number: int, length: str) -> Iterator[str]:
        note, choice = self.fingered.line.notes[number], self.fingered.choices[number]
        yield from self.place(choice.way)
        if self.opens_bow(number):
            yield "("
        mark = ("~" if self.slides(number) else "") + ("g:" if note.is_grace else "")
        yield f"{mark}{note_word(self.fingered.board(number), note.pitch, choice.way)}{length}"

    def place(self, way: Way) -> Iterator[str]:
        """The string and the position, where they change."""
        if way.string != self.string:
            self.string = way.string
            yield f"{way.string}:"
        if way.finger != OPEN_STRING and way.position != self.position:
            self.position = way.position
            yield f"{way.position.written}:"

    def slides(self, number: int) -> bool:
        """Whether the score has a slide into a note that a finger can make."""
        note = self.fingered.line.notes[number]
        if not note.printed.slide_stops or number - 1 not in self.numbers:
            return False
        old, new = (self.fingered.choices[each].way for each in (number - 1, number))
        before = self.fingered.line.notes[number - 1]
        fingers = OPEN_STRING not in (old.finger, new.finger)
        joined = before.end == note.start and before.pitch != note.pitch
        return fingers and joined and old.string == new.string

    def opens_bow(self, number: int) -> bool:
        return number in self.bow_ends[0]

    def closes_bow(self, number: int) -> bool:
        return number in self.bow_ends[1]

    @cached_property
    def bow_ends(self) -> tuple[frozenset[int], frozenset[int]]:
        """The first and the last note of each bow that takes several, grace notes besides."""
        notes, bows = self.fingered.line.notes, defaultdict[int, list[int]](list)
        for number in self.numbers:
            bows[notes[number].bow].append(number)
        several = [
            bow for bow in bows.values() if sum(not notes[each].is_grace for each in bow) > 1
        ]
        return frozenset(bow[0] for bow in several), frozenset(bow[-1] for bow in several)

    def rest(self, length: Fraction) -> str:
        return f"r{self.length(length)}"

    def length(self, quarters: Fraction) -> str:
        return length_word(quarters / self.fingered.unit)


def note_word(board: Fingerboard, pitch: Pitch, way: Way) -> str:
    """A note with its finger as a player reads it: `F#4=2`."""
    written = board.instrument.as_written(pitch)
    name = written.name
    if not written.alter and board.key.alteration(written.letter):
        name = f"{name[0]}n{written.octave}"
    return f"{name}{'o' if way.touched else ''}={finger_name(way.finger)}"


def length_word(plain_notes: Fraction) -> str:
    """How a length is written after a token."""
    if plain_notes == 1:
        return ""
    return "." if plain_notes == DOTTED else f"*{plain_notes}"
