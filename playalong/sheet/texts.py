"""Strips of words around the music of a sheet: headings, and what stands under all of it."""

from __future__ import annotations

from collections.abc import Sequence

from playalong.drill.model import Drill
from playalong.engraving.fonts import LINE_SPACING, MUSIC, SMALL_MM, faces, width_mm, wrapped
from playalong.engraving.marks import SOFT, Ink, Mark, Words, line, scaled
from playalong.engraving.note_values import beat_value
from playalong.engraving.written_score import WrittenScore
from playalong.guidance import cautions
from playalong.music.meter import Meter
from playalong.performance.ladder import rungs
from playalong.score.explanation import stage_words
from playalong.sheet.layout import Strip
from playalong.sheet.sizes import NAME_MM, TEXT_MM, TITLE_MM
from playalong.sheet.words import CAUTION_HEADING, READING_HEADING, STAGE_HEADING, reading_words

COLUMN_GAP_MM = 8.0
PARAGRAPH_MM = 0.6
STEP_MM = SMALL_MM * LINE_SPACING
# SMuFL metronome notes, and their dot.
BEAT_SIGNS = {"half": "\ueca3", "quarter": "\ueca5", "eighth": "\ueca7", "16th": "\ueca9"}
BEAT_DOT = "\uecb7"


def heading(drill: Drill, name: str, tuning: str, room: float) -> Strip:
    """Title; what it is for; the ladder; how it is tuned, where that holds for all."""
    marks: list[Mark] = []
    y = 0.0
    title = ((TITLE_MM, "bold", drill.title, "title"), (NAME_MM, "regular", name, "key"))
    for size, cut, text, kind in title:
        y += _lines(marks, text, y, room, size, cut, kind)
    y += TEXT_MM * 1.6
    sign = _beat_sign(drill.meter, y)
    marks += sign
    x = max(mark.box.right for mark in sign) + 1.2
    tempi = rungs(drill.tempo)
    for part in wrapped("= " + " · ".join(map(str, tempi)), TEXT_MM, room - x):
        marks.append(Words(x, y, part, TEXT_MM, kind="tempo"))
        y += TEXT_MM * LINE_SPACING
    if tuning:
        y += (SMALL_MM - TEXT_MM) / 2
        y += _lines(marks, tuning, y - SMALL_MM, room, SMALL_MM, "italic", "tuning")
    return Strip(tuple(marks), y - STEP_MM + 1.0)


def section_heading(name: str, tuning: str, room: float) -> Strip:
    """String and key of one section, and its tuning where others are tuned otherwise."""
    marks: list[Mark] = []
    y = _lines(marks, name, 0.0, room, NAME_MM, "bold", "key")
    if tuning:
        y += _lines(marks, tuning, y, room, SMALL_MM, "italic", "tuning")
    return Strip.of(marks)


def _lines(
    marks: list[Mark], text: str, y: float, room: float, size: float, cut: str, kind: str
) -> float:
    """Adds a text below y, in as many lines as it takes; how high they are."""
    parts = wrapped(text, size, room, cut)
    for number, part in enumerate(parts):
        marks.append(Words(0, y + size * (1 + number * LINE_SPACING), part, size, cut, kind))
    return size * LINE_SPACING * len(parts)


def _beat_sign(meter: Meter, y: float) -> list[Mark]:
    """The note that the tempi count."""
    beat = beat_value(meter)
    signs = BEAT_SIGNS[beat.type] + BEAT_DOT * beat.dots
    size, x, found = TEXT_MM * 1.25, 0.0, []
    for sign in signs:
        found.append(Ink(scaled(faces()[MUSIC].outline(sign), size, x, y, flip=True), kind="beat"))
        x = found[-1].box.right + 0.4
    return list(found)


def footer(sheets: Sequence[WrittenScore], room: float) -> Strip:
    """Two columns: the stages and how to read the sheet; the cautions."""
    wide = (room - COLUMN_GAP_MM) / 2
    scores = [each.score for each in sheets]
    left = _Column(wide, 0.0)
    left.heading(STAGE_HEADING)
    for stage in scores[0].drill.stages:
        left.item(f"{stage.name}: ", stage_words(stage, scores))
    right = _Column(wide, wide + COLUMN_GAP_MM)
    right.heading(CAUTION_HEADING)
    for caution in cautions(scores[0].instrument.manner):
        right.item("", caution)
    if reading := reading_words(sheets):
        left.heading(READING_HEADING)
        left.item("", reading)
    rule = line((0, 0), (room, 0), width=0.15, kind="rule", colour=SOFT)
    return Strip((rule, *left.marks, *right.marks), max(left.y, right.y))


class _Column:
    def __init__(self, wide: float, x: float) -> None:
        self.wide, self.x, self.y = wide, x, 0.6
        self.marks: list[Mark] = []

    def heading(self, text: str) -> None:
        self.y += STEP_MM * 1.4
        self.marks.append(Words(self.x, self.y, text, SMALL_MM, "bold", "heading"))

    def item(self, name: str, text: str) -> None:
        """A paragraph, its first words bold."""
        self.y += PARAGRAPH_MM
        indent = width_mm(name, SMALL_MM, "bold") if name else 0.0
        if name:
            words = Words(self.x, self.y + STEP_MM, name.rstrip(), SMALL_MM, "bold", "footer")
            self.marks.append(words)
        first = True
        rest = text
        while rest:
            room = self.wide - (indent if first else 0.0)
            part = wrapped(rest, SMALL_MM, room)[0]
            self.y += STEP_MM
            x = self.x + (indent if first else 0.0)
            self.marks.append(Words(x, self.y, part, SMALL_MM, kind="footer"))
            rest, first = rest[len(part) :].lstrip(), False
