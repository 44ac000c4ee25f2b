"""The string drawn to scale: where the drill's fingers stand, position by position.

The numbers are those of `explain`, in mm from the nut.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from typing import Any

from playalong.engraving.fonts import width_mm
from playalong.engraving.marks import Ink, Mark, Words, around, disc, line, moved
from playalong.engraving.sizes import SMALL_MM, TEXT_MM
from playalong.engraving.skyline import rows
from playalong.engraving.words import position_words
from playalong.music.pitch import pretty
from playalong.score.explanation import explain
from playalong.score.model import Score

LABELS_MM = 27.0  # column of position names
NUMBER_MM = SMALL_MM * 0.8
DISC_MM = 1.75
RULER_MM = 7.0
NUT_MM, STRING_MM, THIN_MM = 0.8, 0.3, 0.15
TICK_MM, LABELLED_MM = 10, 50  # of the instrument, between marks of the ruler
GAP_MM, CLEAR_MM, ROOM_MM = 0.8, 0.5, 1.2  # beside, above and below words; between rows
TITLE = "Where the fingers stand"


@dataclass(frozen=True)
class Stand:
    """A finger's place on the string."""

    mm: float
    pitch: str
    fingers: tuple[int, ...]  # none where the hand is not modelled


@dataclass(frozen=True)
class Row:
    """One position on one string."""

    string: str
    label: str
    stands: tuple[Stand, ...]


@dataclass(frozen=True)
class Picture:
    """Marks from a corner at 0, 0; y goes down."""

    marks: tuple[Mark, ...]
    height_mm: float


def board_rows(score: Score) -> tuple[Row, ...]:
    """Strings from the lowest, positions climbing; none where no string is known."""
    found: dict[tuple[Any, ...], dict[tuple[float, str], set[int]]] = {}
    count = len(score.drill.pattern.bars)
    for bar in explain(score)["bars"]:
        for note in bar["notes"]:
            if note["place_mm"] is None:
                continue
            place = (bar["bar"] - 1) // count * count + 1 if note["position"] is None else 0
            key = (
                -score.drill.instrument.string_number(note["string"]),
                note["string"],
                -1 if note["position"] is None else note["position"],
                place,
            )
            stands = found.setdefault(key, {})
            fingers = stands.setdefault((note["place_mm"], note["pitch"]), set())
            fingers.update({note["finger"]} - {None})
    return tuple(
        Row(
            string,
            position_words(position) if position >= 0 else _bars(place, count),
            tuple(
                Stand(mm, pitch, tuple(sorted(fingers)))
                for (mm, pitch), fingers in sorted(found[_, string, position, place].items())
            ),
        )
        for _, string, position, place in sorted(found)
    )


def _bars(first: int, count: int) -> str:
    return f"bar {first}" if count == 1 else f"bars {first}–{first + count - 1}"


def pictures(score: Score, room_mm: float, high_mm: float) -> list[Picture]:
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
    scale: float = field(init=False)

    def __post_init__(self) -> None:
        board = self.score.drill.instrument.fingerboard_mm
        scale = (self.room_mm - LABELS_MM - DISC_MM) / board if board else 0.0
        object.__setattr__(self, "scale", scale)

    def x(self, mm: float) -> float:
        return LABELS_MM + mm * self.scale

    def picture(self, chosen: Sequence[Row]) -> Picture:
        heading = self.heading()
        marks, y = list(heading.marks), heading.height_mm
        for row in chosen:
            drawn = self.row(row)
            marks += moved(drawn.marks, 0, y)
            y += drawn.height_mm
        return Picture(tuple(marks), y)

    def heading(self) -> Picture:
        """Title, scale and the ruler."""
        instrument = self.score.drill.instrument
        told = (
            f"{instrument.name.capitalize()}, string length {instrument.string_length_mm:g} mm, "
            f"from the nut to the end of the fingerboard; drawn 1 : {1 / self.scale:.2f}, "
            "numbers in mm from the nut"
        )
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
        return Picture(tuple(marks), base + 1.0)

    def row(self, row: Row) -> Picture:
        """Pitches above, the string with its fingers, millimetres below."""
        pitches = [pretty(stand.pitch) for stand in row.stands]
        numbers = [f"{stand.mm:.1f}" for stand in row.stands]
        above = self.texts(row, pitches, "pitch", up=True)
        below = self.texts(row, numbers, "place", up=False)
        high, low = (around(mark.box for mark in marks) for marks in (above, below))
        lifted = self.lifted(row)
        fingers_high = DISC_MM + max(lifted)
        level = high.height + ROOM_MM + fingers_high
        marks: list[Mark] = list(self.string_line(level))
        marks += moved(above, 0, level - fingers_high - CLEAR_MM - high.bottom)
        marks += moved(below, 0, level + DISC_MM + CLEAR_MM - low.top)
        for stand, up in zip(row.stands, lifted, strict=True):
            if up:  # beneath all discs
                feet = (self.x(stand.mm), level), (self.x(stand.mm), level - up)
                marks.append(line(*feet, width=STRING_MM, kind="board-stem"))
        for stand, up in zip(row.stands, lifted, strict=True):
            marks += self.finger(stand, level - up)
        label = Words(0, level + 0.9, row.label, SMALL_MM, kind="board-label")
        string = Words(0, level + 0.9, row.string, SMALL_MM, "bold", "board-label")
        marks += [string, label.moved(string.width + 1.5, 0)]
        height = around(mark.box for mark in marks).bottom + ROOM_MM
        return Picture(tuple(marks), height)

    def lifted(self, row: Row) -> list[float]:
        """How far above the string each finger is drawn, where two would cover each other."""
        spans = [(self.x(each.mm) - DISC_MM, self.x(each.mm) + DISC_MM) for each in row.stands]
        return [step * (2 * DISC_MM + 0.2) for step in rows(spans, 0.2)]

    def texts(self, row: Row, texts: Sequence[str], kind: str, *, up: bool) -> list[Words]:
        """Centred over their places, in more lines where they would touch."""
        spans = []
        for stand, text in zip(row.stands, texts, strict=True):
            half = width_mm(text, NUMBER_MM) / 2
            spans.append((self.x(stand.mm) - half, self.x(stand.mm) + half))
        lines = rows(spans, GAP_MM)
        down = NUMBER_MM * (-1.1 if up else 1.1)
        return [
            Words(left, step * down, text, NUMBER_MM, kind=kind)
            for (left, _), step, text in zip(spans, lines, texts, strict=True)
        ]

    def string_line(self, y: float) -> Iterator[Ink]:
        end = self.x(self.score.drill.instrument.fingerboard_mm)
        yield line((self.x(0), y), (end, y), width=STRING_MM, kind="board-string")
        yield line((self.x(0), y - 2.2), (self.x(0), y + 2.2), width=NUT_MM, kind="nut")
        yield line((end, y - 1.5), (end, y + 1.5), width=STRING_MM, kind="board-end")
        board = int(self.score.drill.instrument.fingerboard_mm)
        for mm in range(LABELLED_MM, board, LABELLED_MM):
            yield line((self.x(mm), y - 0.8), (self.x(mm), y + 0.8), width=THIN_MM, kind="tick")

    def finger(self, stand: Stand, y: float) -> Iterator[Mark]:
        x = self.x(stand.mm)
        if not stand.fingers:
            yield disc(x, y, DISC_MM * 0.6, "stand")
            return
        yield disc(x, y, DISC_MM, "stand")
        text = "/".join(map(str, stand.fingers))
        size = SMALL_MM if len(text) == 1 else NUMBER_MM * 0.7
        words = Words(0, 0, text, size, "bold", "finger", "#ffffff")
        box = words.box
        yield words.moved(x - box.middle, y - box.middle_y)
