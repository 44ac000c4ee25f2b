"""What is written around a line of music: half steps, positions, strings, shifts, twins."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from itertools import pairwise

from playalong.engraving.engrave import STAFF_MM, System
from playalong.engraving.fonts import LINE_SPACING, SMALL_MM, width_mm
from playalong.engraving.marks import Mark, Words, line
from playalong.engraving.skyline import GAP_MM, Skyline, rows, spread
from playalong.engraving.words import pass_words, position_words, shift_words, twin_words
from playalong.engraving.written_score import WrittenScore
from playalong.score.explanation import is_half_step, turns, twins

FINGER_MM, GHOST_FINGER_MM, FINGER_GAP_MM = 2.9, 2.3, 0.6
BRACKET_MM = 1.1  # height of a half step's bracket
HOOK_MM = 1.2
LINE_MM = 0.2
LOWER_GAP_MM = 1.2  # over each row of words under the staff
APART_MM = 1.5  # between neighbouring words
MOST_ASIDE_MM = 8.0  # words stand this far from their note rather than in another row
LINE_CUTS = ("italic", "regular")  # of the first line of words under the staff, and the second


def _widest_mm(texts: Sequence[str]) -> float:
    return max(width_mm(text, SMALL_MM, cut) for text, cut in zip(texts, LINE_CUTS, strict=False))


@dataclass
class Annotations:
    """Sets the words of one system; every step takes its room from the skyline."""

    written: WrittenScore
    system: System
    room_mm: float
    marks: list[Mark] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.sky = Skyline()
        self.sky.take(self.system.marks)
        self.twins = twins(self.written.score)
        self.last = {  # the last head on this line of every note, by its number
            int(name[1:].partition("-")[0]): box
            for name, box in self.system.heads.items()
            if name[0] == "n"
        }
        self.notes = [
            (number, note)
            for number, note in enumerate(self.written.notes)
            if f"n{number}" in self.system.heads
        ]

    def all_marks(self) -> list[Mark]:
        self.fingers()
        self.half_steps()
        self.passes()
        self.bar_number()
        self.positions()
        self.strings()
        self.shifts()
        self.twin_bars()
        return [*self.system.marks, *self.marks]

    def add(self, *marks: Mark) -> None:
        self.marks += marks
        self.sky.take(marks)

    def middle(self, number: int) -> float:
        return self.system.heads[f"n{number}"].middle

    def fingers(self) -> None:
        """A number over each note, and smaller over each ghost note."""
        heads = [(f"n{n}", note.finger, FINGER_MM) for n, note in self.notes]
        for index in self.system.bars:
            ghosts = self.written.bars[index].ghosts
            heads += [(ghost.id, ghost.finger, GHOST_FINGER_MM) for ghost in ghosts]
        for name, finger, size in heads:
            if finger is None or name not in self.system.heads:
                continue
            text = str(finger)
            left = self.system.heads[name].middle - width_mm(text, size, "bold") / 2
            base = min(self.sky.top(left, left + size / 2, FINGER_GAP_MM), 0.0) - FINGER_GAP_MM
            self.add(Words(left, base, text, size, "bold", "fingering"))

    def half_steps(self) -> None:
        for (number, one), (_, two) in pairwise(self.notes):
            if not is_half_step(one, two):
                continue
            left = self.last[number].middle + 0.3
            right = self.middle(number + 1) - 0.3
            low = self.sky.top(left, right) - GAP_MM
            high = low - BRACKET_MM
            corners = ((left, low), (left, high), (right, high), (right, low))
            self.add(line(*corners, width=LINE_MM, kind="half-step"))

    def passes(self) -> None:
        if self.written.score.drill.passes < 2:
            return
        for index, (_, right) in self.system.bars.items():
            if self.written.bars[index].last:
                self.over(pass_words(self.written.score.drill.passes), right, "passes", share=1.0)

    def bar_number(self) -> None:
        index = next((n for n in self.system.bars if self.written.bars[n].number), None)
        if index is not None and (number := self.written.bars[index].number) != 1:
            self.over(str(number), self.system.bars[index][0], "bar-number", cut="italic")

    def over(
        self, text: str, x: float, kind: str, *, cut: str = "regular", share: float = 0
    ) -> None:
        """One short text over whatever stands at x."""
        width = width_mm(text, SMALL_MM, cut)
        left = max(0.0, x - share * width)
        words = Words(left, self.sky.top(left, left + width) - GAP_MM, text, SMALL_MM, cut, kind)
        self.add(words)

    def positions(self) -> None:
        new = self.written.new_positions
        changes = [(number, new[number]) for number, _ in self.notes if number in new]
        if not changes:
            return
        spans: list[tuple[float, float]] = []
        texts: list[str] = []
        for short in (False, True):
            texts = [position_words(position, short=short) for _, position in changes]
            starts = [self.system.heads[f"n{number}"].left for number, _ in changes]
            spans = [
                (left, left + width_mm(text, SMALL_MM))
                for left, text in zip(starts, texts, strict=True)
            ]
            spans = spread(spans, APART_MM, self.room_mm, MOST_ASIDE_MM / 4)
            if not any(rows(spans, APART_MM)):
                break
        self.upper_rows(spans, texts, "position")

    def upper_rows(
        self, spans: Sequence[tuple[float, float]], texts: Sequence[str], kind: str
    ) -> None:
        """Texts on a common base line over all that stands below them; more rows where needed."""
        chosen = rows(spans, APART_MM)
        for row in range(max(chosen) + 1):
            here = [n for n, each in enumerate(chosen) if each == row]
            base = min(self.sky.top(*spans[n]) for n in here) - GAP_MM
            words = [Words(spans[n][0], base, texts[n], SMALL_MM, kind=kind) for n in here]
            down = max(word.box.bottom for word in words) - base
            self.add(*(word.moved(0, -down) for word in words))

    def strings(self) -> None:
        """The string's numeral with a line to its last note here, hooked where it ends."""
        runs = list(self.string_runs())
        if not runs:
            return
        lines = []
        for first, last, string, begins, ends in runs:
            numeral = self.written.instrument.roman(string)
            text = numeral if begins else f"({numeral})"
            left = self.system.heads[f"n{first}"].left
            lines.append((left, self.system.heads[f"n{last}"].right, text, ends))
        top = min(self.sky.top(left, max(right, left + 5)) for left, right, _, _ in lines)
        base = top - GAP_MM - HOOK_MM
        for left, right, text, ends in lines:
            words = Words(left, base, text, SMALL_MM, "bold", "string")
            start, level = words.box.right + 0.8, words.box.middle_y
            self.add(words)
            if right > start:
                hook = ((right, level + HOOK_MM),) if ends else ()
                self.add(
                    line((start, level), (right, level), *hook, width=LINE_MM, kind="string-line")
                )

    def string_runs(self) -> Iterator[tuple[int, int, str, bool, bool]]:
        """First and last note here on one string; whether the run begins and ends here."""
        notes = self.written.notes
        start = 0
        for index, (number, note) in enumerate(self.notes):
            after = self.notes[index + 1][1] if index + 1 < len(self.notes) else None
            if note.string and (after is None or after.string != note.string):
                first = self.notes[start][0]
                begins = not first or notes[first - 1].string != note.string
                ends = number + 1 == len(notes) or notes[number + 1].string != note.string
                yield first, number, note.string, begins, ends
            if after is None or after.string != note.string:
                start = index + 1

    def shifts(self) -> None:
        """Kind and travel under every shift, and under a repeat sign of the way back."""
        told = sorted([*self.arrivals(), *self.turns()])
        if not told:
            return
        halves = [_widest_mm(texts) / 2 for _, texts in told]
        spans = [(x - half, x + half) for (x, _), half in zip(told, halves, strict=True)]
        spans = spread(spans, APART_MM, self.room_mm, MOST_ASIDE_MM)
        self.lower_rows(spans, [texts for _, texts in told], "shift")

    def arrivals(self) -> Iterator[tuple[float, tuple[str, ...]]]:
        """The words of each shift, and where they stand: between the two notes."""
        for number, note in self.notes:
            if note.arrival:
                before = self.last.get(number - 1)
                x = self.middle(number)
                yield (x + before.middle) / 2 if before else x, shift_words(note.arrival)

    def turns(self) -> Iterator[tuple[float, tuple[str, ...]]]:
        """The way back to a starting position, told at its last bar line."""
        ends = {
            self.written.bars[index].stand: right
            for index, (_, right) in self.system.bars.items()
            if self.written.bars[index].last
        }
        for turn in turns(self.written.score):
            if turn.stand in ends and turn.arrival:
                kind, *travel = shift_words(turn.arrival)
                texts = (f"back: {kind}", *travel)
                yield ends[turn.stand] - _widest_mm(texts) / 2, texts

    def lower_rows(
        self, spans: Sequence[tuple[float, float]], texts: Sequence[tuple[str, ...]], kind: str
    ) -> None:
        """Centred lines of text under all that stands above them, on common base lines."""
        chosen = rows(spans, APART_MM)
        step = SMALL_MM * LINE_SPACING
        for row in range(max(chosen) + 1):
            here = [n for n, each in enumerate(chosen) if each == row]
            top = max(max(self.sky.bottom(*spans[n]) for n in here), STAFF_MM)
            base = top + LOWER_GAP_MM + SMALL_MM * 0.75
            for n in here:
                left, right = spans[n]
                for count, text in enumerate(texts[n]):
                    cut = LINE_CUTS[count]
                    x = (left + right - width_mm(text, SMALL_MM, cut)) / 2
                    self.add(Words(x, base + count * step, text, SMALL_MM, cut, kind))

    def twin_bars(self) -> None:
        told = [
            (self.system.bars[index][0], twin_words(bar.number, self.twins[bar.number]))
            for index, bar in enumerate(self.written.bars)
            if index in self.system.bars and bar.number in self.twins
        ]
        if told:
            spans = [(left, left + _widest_mm((text,))) for left, text in told]
            spans = spread(spans, APART_MM, self.room_mm, MOST_ASIDE_MM)
            self.lower_rows(spans, [(text,) for _, text in told], "twin")


def annotated(written: WrittenScore, system: System, room_mm: float) -> list[Mark]:
    """All marks of a line of music: the engraver's, and the words around them."""
    return Annotations(written, system, room_mm).all_marks()
