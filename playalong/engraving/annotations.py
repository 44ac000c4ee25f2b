"""What is written around a line of music: half steps, positions, strings, shifts, twins."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from itertools import pairwise

from playalong.engraving.brackets import (
    HOOK_MM,
    LINE_MM,
    half_step_brackets,
    harmonic_sign,
    octave_line,
    thumb_sign,
    tuplet_bracket,
)
from playalong.engraving.engrave import STAFF_MM, System
from playalong.engraving.fonts import LINE_SPACING, SMALL_MM, width_mm
from playalong.engraving.markings import markings
from playalong.engraving.marks import Mark, Words, line
from playalong.engraving.skyline import GAP_MM, Skyline, rows, spread
from playalong.engraving.words import (
    SIMILE,
    Lines,
    pass_words,
    position_words,
    shift_lines,
    shift_words,
    twin_words,
    widest_mm,
)
from playalong.engraving.written_score import WrittenScore
from playalong.instrument.position import THUMB, Position, finger_name
from playalong.score.explanation import is_half_step, turns

FINGER_MM, GHOST_FINGER_MM, FINGER_GAP_MM = 2.9, 2.3, 0.6  # of a staff of STAFF_MM
LOWER_GAP_MM, FURTHER_GAP_MM = 1.2, 2.4  # over the first row of words under the staff, over more
APART_MM = 1.5  # between neighbouring words
NUMERAL_GAP_MM = 0.8  # between a numeral, its line and the next numeral
MOST_ASIDE_MM = 8.0  # words stand this far from their note rather than in another row


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
        self.twins = self.written.twins
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
        self.tuplets()
        self.octave_signs()
        self.similes()
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
        """A number over each note, and smaller over each grace note and ghost note."""
        heads = [
            (f"n{n}", note.finger, GHOST_FINGER_MM if note.is_grace else FINGER_MM)
            for n, note in self.notes
        ]
        for index in self.system.bars:
            ghosts = self.written.bars[index].ghosts
            heads += [(ghost.id, ghost.finger, GHOST_FINGER_MM) for ghost in ghosts]
        for name, finger, size in heads:
            if finger is None or name not in self.system.heads:
                continue
            middle, size = self.system.heads[name].middle, size * self.system.staff_mm / STAFF_MM
            text = finger_name(finger)
            left = middle - width_mm(text, size, "bold") / 2
            base = min(self.sky.top(left, left + size / 2, FINGER_GAP_MM), 0.0) - FINGER_GAP_MM
            thumb = thumb_sign(middle, base, size, "fingering")
            self.add(
                *(
                    thumb
                    if finger == THUMB
                    else [Words(left, base, text, size, "bold", "fingering")]
                )
            )
        for number, note in self.notes:
            if note.touched:
                middle, size = self.middle(number), FINGER_MM * self.system.staff_mm / STAFF_MM
                self.add(
                    harmonic_sign(
                        middle,
                        self.sky.top(middle - size / 2, middle + size / 2, FINGER_GAP_MM),
                        size,
                    )
                )

    def half_steps(self) -> None:
        steps = [
            (number, self.last[number].middle + 0.3, self.middle(number + 1) - 0.3)
            for (number, one), (_, two) in pairwise(self.notes)
            if is_half_step(one, two)
        ]
        self.add(*half_step_brackets(steps, self.sky))

    def tuplets(self) -> None:
        for tuplet in self.system.tuplets:
            self.add(*tuplet_bracket(tuplet, self.sky, self.system.staff_mm))

    def octave_signs(self) -> None:
        for first, last in self.written.octave_signs:
            here = [number for number, _ in self.notes if first <= number <= last]
            if here:
                left = self.system.heads[f"n{here[0]}"].left
                begins, ends = here[0] == first, here[-1] == last
                right = self.last[here[-1]].right
                self.add(*octave_line(left, right, self.sky, begins=begins, ends=ends))

    def passes(self) -> None:
        if self.written.score.drill.passes < 2:
            return
        for index, (_, right) in self.system.bars.items():
            if self.written.bars[index].last:
                self.over(pass_words(self.written.score.drill.passes), right, "passes", share=1.0)

    def bar_number(self) -> None:
        index = next((n for n in self.system.bars if self.written.bars[n].number), None)
        if index is not None and (number := self.written.bars[index].number) != 1:
            left = min(left for left, _ in self.system.bars.values())
            self.over(str(number), left, "bar-number", cut="italic")

    def over(
        self, text: str, x: float, kind: str, *, cut: str = "regular", share: float = 0
    ) -> None:
        """One short text over whatever stands at x."""
        width = width_mm(text, SMALL_MM, cut)
        left = max(0.0, x - share * width)
        words = Words(left, self.sky.top(left, left + width) - GAP_MM, text, SMALL_MM, cut, kind)
        self.add(words)

    def positions(self) -> None:
        changes = list(self.told_positions())
        if not changes:
            return
        spans: list[tuple[float, float]] = []
        texts: list[str] = []
        for short in (False, True):
            texts = [
                words if new else f"({words})"
                for _, position, new in changes
                for words in [position_words(*position, short=short)]
            ]
            starts = [self.system.heads[f"n{number}"].left for number, _, _ in changes]
            spans = [
                (left, left + width_mm(text, SMALL_MM))
                for left, text in zip(starts, texts, strict=True)
            ]
            spans = spread(spans, APART_MM, self.room_mm, MOST_ASIDE_MM / 4)
            if not any(rows(spans, APART_MM)):
                break
        self.upper_rows(spans, texts, "position")

    def told_positions(self) -> Iterator[tuple[int, tuple[Position, str], bool]]:
        """Note, position, and whether the hand takes it there: a new line names it again."""
        told = self.written.positions
        stopped = [(number, told[number]) for number, _ in self.notes if number in told]
        for number, position in stopped:
            new = number in self.written.new_positions
            if new or number == stopped[0][0]:
                yield number, position, new

    def similes(self) -> None:
        """From where on the bowing goes on as it is marked."""
        marked = markings(self.written)
        for number, _ in self.notes:
            if marked[number].simile:
                left = self.system.heads[f"n{number}"].left
                self.over(SIMILE, left, "simile", cut="italic")

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
        spans, lines = list[tuple[float, float]](), list[tuple[str, float, bool]]()
        for first, last, string, begins, ends in runs:
            numeral = self.written.instrument.roman(string)
            text = numeral if begins else f"({numeral})"
            left = self.system.heads[f"n{first}"].left
            spans.append((left, left + width_mm(text, SMALL_MM, "bold")))
            lines.append((text, self.system.heads[f"n{last}"].right, ends))
        # Grace notes on several strings stand closer together than their numerals.
        spans = spread(spans, NUMERAL_GAP_MM, self.room_mm, MOST_ASIDE_MM)
        top = min(
            self.sky.top(left, max(right, left + 5))
            for (left, _), (_, right, _) in zip(spans, lines, strict=True)
        )
        row_mm = SMALL_MM * LINE_SPACING
        for (left, _), row, (text, right, ends) in zip(
            spans, rows(spans, NUMERAL_GAP_MM), lines, strict=True
        ):
            base = top - GAP_MM - HOOK_MM - row * row_mm
            words = Words(left, base, text, SMALL_MM, "bold", "string")
            start, level = words.box.right + NUMERAL_GAP_MM, words.box.middle_y
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
        for narrow in (False, True):
            texts = [shift_lines(words, narrow=narrow) for _, words in told]
            halves = [widest_mm(lines) / 2 for lines in texts]
            spans = [(x - half, x + half) for (x, _), half in zip(told, halves, strict=True)]
            spans = spread(spans, APART_MM, self.room_mm, MOST_ASIDE_MM)
            if not any(rows(spans, APART_MM)):
                break
        self.lower_rows(spans, texts, "shift")

    def arrivals(self) -> Iterator[tuple[float, tuple[str, ...]]]:
        """The words of each shift, and where they stand: between the two notes."""
        for number, note in self.notes:
            if note.arrival and note.is_landing:
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
            if turn.stand in ends and turn.arrival and turn.is_landing:
                kind, *travel = shift_words(turn.arrival)
                texts = (f"back: {kind}", *travel)
                yield ends[turn.stand] - widest_mm(shift_lines(texts)) / 2, texts

    def lower_rows(
        self, spans: Sequence[tuple[float, float]], texts: Sequence[Lines], kind: str
    ) -> None:
        """Centred lines of text under all that stands above them, on common base lines."""
        chosen = rows(spans, APART_MM)
        step = SMALL_MM * LINE_SPACING
        for row in range(max(chosen) + 1):
            here = [n for n, each in enumerate(chosen) if each == row]
            top = max(max(self.sky.bottom(*spans[n]) for n in here), self.system.staff_mm)
            base = top + (FURTHER_GAP_MM if row else LOWER_GAP_MM) + SMALL_MM * 0.75
            for n in here:
                left, right = spans[n]
                for count, (text, cut) in enumerate(texts[n]):
                    x = (left + right - width_mm(text, SMALL_MM, cut)) / 2
                    self.add(Words(x, base + count * step, text, SMALL_MM, cut, kind))

    def twin_bars(self) -> None:
        told = [
            (self.system.bars[index][0], twin_words(bar.number, self.twins[bar.number]))
            for index, bar in enumerate(self.written.bars)
            if index in self.system.bars and bar.number in self.twins
        ]
        if told:
            spans = [(left, left + width_mm(text, SMALL_MM, "italic")) for left, text in told]
            spans = spread(spans, APART_MM, self.room_mm, MOST_ASIDE_MM)
            self.lower_rows(spans, [((text, "italic"),) for _, text in told], "twin")


def annotated(written: WrittenScore, system: System, room_mm: float) -> list[Mark]:
    """All marks of a line of music: the engraver's, and the words around them."""
    return Annotations(written, system, room_mm).all_marks()
