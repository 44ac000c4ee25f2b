"""A line of music in words, for those who listen to a sheet: what a player reads from it.

Names are those that stand on paper; what goes on unchanged (value, string, position) is told once
in a line, and again where it changes.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from playalong.engraving.markings import Markings, markings
from playalong.engraving.note_values import NoteValue
from playalong.engraving.words import SIMILE, landing_words, position_words
from playalong.engraving.written_score import Bar, NoteOrRest, WrittenScore
from playalong.instrument.position import finger_words
from playalong.music.pitch import pretty

_DOTS = {0: "", 1: "dotted ", 2: "double dotted "}


def spoken(written: WrittenScore, lines: Iterable[Iterable[int]]) -> Iterator[str]:
    """Each line, given as its bars' places in the written score: a sentence for each bar."""
    marks = markings(written)
    for bars in lines:
        line = _Line(written, marks)
        yield " ".join(line.bar(written.bars[index]) for index in bars)


def value_words(value: NoteValue) -> str:
    """`dotted quarter`; `eighth, 3 in the time of 2`."""
    ratio = "" if value.ratio is None else ", {} in the time of {}".format(*value.ratio)
    return f"{_DOTS[value.dots]}{value.type}{ratio}"


class _Line:
    """One line on its way into words; what was told last."""

    def __init__(self, written: WrittenScore, marks: Sequence[Markings]) -> None:
        self.written, self.markings, self.twins = written, marks, written.twins
        self.value = self.string = self.position = ""

    def bar(self, bar: Bar) -> str:
        name = "Bar of click" if bar.number is None else f"Bar {bar.number}"
        told = [f"{'Upbeat' if bar.is_upbeat else name}: "]
        if bar.number in self.twins and not bar.is_upbeat:
            told.append(f"{self.twins[bar.number].words}; ")
        if bar.is_silent:
            told.append("rest")
        else:
            told.append("; ".join(filter(None, map(self.sign, bar.notes_and_rests))))
        passes = self.written.score.drill.passes
        if bar.last and passes > 1:
            told.append(f"; {passes} passes")
        return "".join(told) + "."

    def sign(self, each: NoteOrRest) -> str:
        """A note or a rest; of a piece that is tied on, its value."""
        if each.note is None:
            return f"{value_words(each.value)} rest"
        if each.piece:
            return f"tied on, {value_words(each.value)}"
        return ", ".join(self.note(each, self.markings[each.number]))

    def note(self, each: NoteOrRest, marks: Markings) -> Iterator[str]:
        note, written = each.note, self.written
        if note is None:
            return
        if note.arrival and note.is_landing:
            yield landing_words(note.arrival)
        value = "grace note" if each.is_grace else value_words(each.value)
        yield pretty(written.instrument.as_written(note.pitch).name)
        if value != self.value:
            self.value = value
            yield value
        if note.touched:
            yield "harmonic"
        if note.finger is not None:
            yield finger_words(note.finger) if note.finger else "open string"
        if note.string and note.string != self.string:
            self.string = note.string
            yield f"{note.string} string"
        if each.number in written.positions:
            position = position_words(*written.positions[each.number])
            if position != self.position:
                self.position = position
                yield position
        if marks.bow:
            yield f"{marks.bow} bow"
        if marks.simile:
            yield SIMILE
        if marks.slur_start:
            yield "slur begins"
        if marks.slur_stop:
            yield "slur ends"
