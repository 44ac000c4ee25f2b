"""The string drawn to scale: where the drill's fingers stand, position by position.

The numbers are those of `explain`, in mm from the nut.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

from playalong.drill.model import Drill
from playalong.engraving.fonts import SMALL_MM, width_mm
from playalong.engraving.marks import INK, Ink, Mark, Words, around, disc, line, moved
from playalong.engraving.skyline import rows
from playalong.engraving.words import position_words
from playalong.instrument.position import Position, finger_name, finger_words
from playalong.music.pitch import pretty
from playalong.score.explanation import told_place_mm
from playalong.score.model import Score
from playalong.sheet.layout import FIGURE, Part, Strip, marks_of
from playalong.sheet.sizes import TEXT_MM

LABELS_MM = 27.0  # column of position names
LABEL_ROOM_MM = 20.0  # beside the string's letter
NUMBER_MM = SMALL_MM * 0.8
DISC_MM = 1.75
RULER_MM = 6.0
NUT_MM, STRING_MM, THIN_MM = 0.8, 0.3, 0.15
TICK_MM, LABELLED_MM = 10, 50  # of the instrument, between marks of the ruler
GAP_MM, CLEAR_MM, ROOM_MM = 0.8, 0.25, 0.5  # beside words; above and below them; above a row
APART_MM = 0.8  # of a row's numbers from the names above the next row
PAPER, NODE_RIM_MM = "#ffffff", 0.3
TITLE = "Where the fingers stand"


@dataclass(frozen=True)
class Place:
    """A place on the string, and the fingers that stop it."""

    mm: float  # from the nut
    pitch: str
    fingers: tuple[int, ...]  # none where the hand is not modelled
    is_node: bool = False  # only touched there: a harmonic, and the pitch is what speaks


@dataclass(frozen=True)
class Row:
    """One position on one string."""

    string: str
    label: str
    places: tuple[Place, ...]


def board_rows(score: Score) -> tuple[Row, ...]:
    """Strings from the lowest, positions climbing; none where no string is known.

    Where the hand is not modelled every starting position has its row.
    """
    instrument, drill = score.instrument, score.drill
    found: dict[tuple[int, Position | None, int], dict[tuple[float, str, bool], set[int]]] = {}
    for note in score.notes:
        mm = told_place_mm(score, note)
        if note.string is None or mm is None:
            continue
        number = instrument.string_number(note.string)
        hand = (None, note.stand) if note.position is None else (note.position, 0)
        row = found.setdefault((-number, *hand), {})
        pitch = instrument.as_written(note.pitch).name
        fingers = row.setdefault((mm, pitch, note.touched is not None), set())
        if note.finger is not None:
            fingers.add(note.finger)
    return tuple(
        Row(
            instrument.string_names[-number - 1],
            _position(position) if position else _bars(drill, stand),
            tuple(
                Place(mm, pitch, tuple(sorted(fingers)), is_node)
                for (mm, pitch, is_node), fingers in sorted(found[number, position, stand].items())
            ),
        )
        for number, position, stand in sorted(found, key=_from_the_lowest)
    )


def _from_the_lowest(row: tuple[int, Position | None, int]) -> tuple[int, bool, int, str, int]:
    number, position, stand = row
    if position is None:
        return number, False, -1, "", stand
    return number, position.thumb, position.number, position.mark, stand


def _position(position: Position) -> str:
    """In short where the column would not hold it."""
    words = position_words(position)
    fits = width_mm(words, SMALL_MM) <= LABEL_ROOM_MM
    return words if fits else position_words(position, short=True)


def _bars(drill: Drill, stand: int) -> str:
    """The bars of a starting position."""
    count = drill.bar_count
    first = drill.first_bar + (stand - 1) * count
    return f"bar {first}" if count == 1 else f"bars {first}–{first + count - 1}"


def row_words(row: Row) -> str:
    """`D string, 1st position: E4 at 62.1, finger 1; F4 at 79.9, finger 2.`"""
    return f"{row.string} string, {row.label}: {'; '.join(map(_place_words, row.places))}."


def _place_words(place: Place) -> str:
    fingers = " or ".join(map(finger_words, place.fingers))
    harmonic = "harmonic" if place.is_node else ""
    told = (f"{pretty(place.pitch)} at {place.mm:.1f}", harmonic, fingers)
    return ", ".join(filter(None, told))


def pictures(score: Score, room_mm: float, high_mm: float) -> list[Strip]:
    """The picture, in as many parts as do not fit into `high_mm` together."""
    drawing = Drawing(score, room_mm)
    parts: list[list[Row]] = []
    height = 0.0
    for row in board_rows(score):
        tall = drawing.row(row).height_mm
        if not parts or height + tall > high_mm:
            parts.append([])
            height = drawing.heading().height_mm
        parts[-1].append(row)
        height += tall
    return [drawing.picture(part) for part in parts]


@dataclass(frozen=True)
class Drawing:
    score: Score
    room_mm: float

    @cached_property
    def scale(self) -> float:
        """Of the drawing to the instrument."""
        board_mm = self.score.drill.instrument.fingerboard_mm
        return (self.room_mm - LABELS_MM - DISC_MM) / board_mm

    def x(self, mm: float) -> float:
        return LABELS_MM + mm * self.scale

    def picture(self, chosen: Sequence[Row]) -> Strip:
        heading = self.heading()
        marks, y = marks_of(heading.parts), heading.height_mm
        for row in chosen:
            drawn = self.row(row)
            marks += moved(marks_of(drawn.parts), 0, y)
            y += drawn.height_mm
        told = " ".join((f"{TITLE}. {self.scale_words()}.", *map(row_words, chosen)))
        return Strip((Part(FIGURE, tuple(marks), told),), y)

    def scale_words(self) -> str:
        instrument = self.score.drill.instrument
        return (
            f"{instrument.name.capitalize()}, string length {instrument.string_length_mm:g} mm, "
            f"from the nut to the end of the fingerboard; drawn 1 : {1 / self.scale:.2f}, "
            "numbers in mm from the nut"
        )

    def heading(self) -> Strip:
        """Title, scale and the ruler."""
        instrument, told = self.score.drill.instrument, self.scale_words()
        title = Words(0, TEXT_MM, TITLE, TEXT_MM, "bold", "board-title")
        marks: list[Mark] = [title]
        marks.append(Words(title.width + 2.5, TEXT_MM, told, SMALL_MM, "italic", "board-title"))
        base = TEXT_MM + RULER_MM
        for mm in range(0, int(instrument.fingerboard_mm) + 1, TICK_MM):
            labelled = mm % LABELLED_MM == 0
            high = 1.6 if labelled else 0.8
            marks.append(line((self.x(mm), base - high), (self.x(mm), base), width=THIN_MM))
            if labelled:
                text = str(mm) if mm else "nut"
                left = self.x(mm) - width_mm(text, NUMBER_MM) / 2
                marks.append(Words(left, base - high - 0.6, text, NUMBER_MM, kind="ruler"))
        ends = (self.x(0), base), (self.x(instrument.fingerboard_mm), base)
        marks.append(line(*ends, width=THIN_MM))
        return Strip((Part(FIGURE, tuple(marks)),), base + 1.0)

    def row(self, row: Row) -> Strip:
        """Pitches above, the string with its fingers, millimetres below."""
        pitches = [pretty(place.pitch) + "°" * place.is_node for place in row.places]
        numbers = [f"{place.mm:.1f}" for place in row.places]
        above = self.texts(row, pitches, "pitch", up=True)
        below = self.texts(row, numbers, "place", up=False)
        high, low = (around(mark.box for mark in marks) for marks in (above, below))
        lifted = self.lifted(row)
        fingers_high = DISC_MM + max(lifted)
        level = high.height + ROOM_MM + fingers_high
        marks: list[Mark] = list(self.string_line(level))
        marks += moved(above, 0, level - fingers_high - CLEAR_MM - high.bottom)
        marks += moved(below, 0, level + DISC_MM + CLEAR_MM - low.top)
        for place, up in zip(row.places, lifted, strict=True):
            if up:  # beneath all discs
                feet = (self.x(place.mm), level), (self.x(place.mm), level - up)
                marks.append(line(*feet, width=STRING_MM, kind="board-stem"))
        for place, up in zip(row.places, lifted, strict=True):
            marks += self.finger(place, level - up)
        label = Words(0, level + 0.9, row.label, SMALL_MM, kind="board-label")
        string = Words(0, level + 0.9, row.string, SMALL_MM, "bold", "board-label")
        marks += [string, label.moved(string.width + 1.5, 0)]
        height = around(mark.box for mark in marks).bottom + APART_MM
        return Strip((Part(FIGURE, tuple(marks)),), height)

    def lifted(self, row: Row) -> list[float]:
        """How far above the string each finger is drawn, where two would cover each other."""
        spans = [(self.x(each.mm) - DISC_MM, self.x(each.mm) + DISC_MM) for each in row.places]
        return [step * (2 * DISC_MM + 0.2) for step in rows(spans, 0.2)]

    def texts(self, row: Row, texts: Sequence[str], kind: str, *, up: bool) -> list[Words]:
        """Centred over their places, in more lines where they would touch."""
        spans = []
        for place, text in zip(row.places, texts, strict=True):
            half = width_mm(text, NUMBER_MM) / 2
            spans.append((self.x(place.mm) - half, self.x(place.mm) + half))
        lines = rows(spans, GAP_MM)
        down = NUMBER_MM * (-1.1 if up else 1.1)
        return [
            Words(left, step * down, text, NUMBER_MM, kind=kind)
            for (left, _), step, text in zip(spans, lines, texts, strict=True)
        ]

    def string_line(self, y: float) -> Iterator[Ink]:
        end = self.x(self.score.drill.instrument.fingerboard_mm)
        yield line((self.x(0), y), (end, y), width=STRING_MM, kind="board-string")
        yield line((self.x(0), y - 2.0), (self.x(0), y + 2.0), width=NUT_MM, kind="nut")
        yield line((end, y - 1.5), (end, y + 1.5), width=STRING_MM, kind="board-end")
        board = int(self.score.drill.instrument.fingerboard_mm)
        for mm in range(LABELLED_MM, board, LABELLED_MM):
            yield line((self.x(mm), y - 0.8), (self.x(mm), y + 0.8), width=THIN_MM, kind="tick")

    def finger(self, place: Place, y: float) -> Iterator[Mark]:
        x = self.x(place.mm)
        if not place.fingers:
            yield disc(x, y, DISC_MM * 0.6, "stand")
            return
        yield disc(x, y, DISC_MM, "stand")
        if place.is_node:
            yield replace(disc(x, y, DISC_MM - NODE_RIM_MM, "node"), colour=PAPER)
        text = "/".join(map(finger_name, place.fingers))
        size = SMALL_MM if len(text) == 1 else NUMBER_MM * 0.7
        colour = INK if place.is_node else PAPER
        words = Words(0, 0, text, size, "bold", "finger", colour)
        box = words.box
        yield words.moved(x - box.middle, y - box.middle_y)
