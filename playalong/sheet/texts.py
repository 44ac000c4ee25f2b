"""Strips of words around the music of a sheet: headings, and what stands under all of it."""

from __future__ import annotations

from collections.abc import Sequence

from playalong.drill.model import Drill
from playalong.engraving.fonts import LINE_SPACING, MUSIC, SMALL_MM, faces, width_mm, wrapped
from playalong.engraving.marks import SOFT, Ink, Mark, Words, line, scaled
from playalong.engraving.note_values import beat_value
from playalong.engraving.reading import READING_HEADING, reading_words
from playalong.engraving.spoken import value_words
from playalong.engraving.written_score import WrittenScore
from playalong.guidance import cautions
from playalong.music.meter import Meter
from playalong.performance.ladder import rungs
from playalong.score.explanation import stage_words
from playalong.sheet.layout import ARTIFACT, HEADING, PARAGRAPH, TITLE, Part, Strip
from playalong.sheet.sizes import NAME_MM, TEXT_MM, TITLE_MM
from playalong.sheet.words import CAUTION_HEADING, STAGE_HEADING

COLUMN_GAP_MM = 8.0
PARAGRAPH_MM = 0.6
STEP_MM = SMALL_MM * LINE_SPACING
# SMuFL metronome notes, and their dot.
BEAT_SIGNS = {"half": "\ueca3", "quarter": "\ueca5", "eighth": "\ueca7", "16th": "\ueca9"}
BEAT_DOT = "\uecb7"


def heading(drill: Drill, name: str, tuning: str, room: float) -> Strip:
    """Title; what it is for; the ladder; how it is tuned, where that holds for all."""
    parts: list[Part] = []
    y = _lines(parts, TITLE, drill.title, 0.0, room, TITLE_MM, "bold", "title")
    y += _lines(parts, PARAGRAPH, name, y, room, NAME_MM, "regular", "key")
    y += TEXT_MM * 1.6
    sign = _beat_sign(drill.meter, y)
    ladder: list[Mark] = list(sign)
    x = max(mark.box.right for mark in sign) + 1.2
    tempi = "= " + " · ".join(map(str, rungs(drill.tempo)))
    for row in wrapped(tempi, TEXT_MM, room - x):
        ladder.append(Words(x, y, row, TEXT_MM, kind="tempo"))
        y += TEXT_MM * LINE_SPACING
    parts.append(Part(PARAGRAPH, tuple(ladder), f"{value_words(beat_value(drill.meter))} {tempi}"))
    if tuning:
        y += (SMALL_MM - TEXT_MM) / 2
        y += _lines(parts, PARAGRAPH, tuning, y - SMALL_MM, room, SMALL_MM, "italic", "tuning")
    return Strip(tuple(parts), y - STEP_MM + 1.0)


def section_heading(name: str, tuning: str, room: float) -> Strip:
    """String and key of one section, and its tuning where others are tuned otherwise."""
    parts: list[Part] = []
    y = _lines(parts, HEADING, name, 0.0, room, NAME_MM, "bold", "key")
    if tuning:
        y += _lines(parts, PARAGRAPH, tuning, y, room, SMALL_MM, "italic", "tuning")
    return Strip.of(*parts)


def _lines(
    parts: list[Part],
    role: str,
    text: str,
    y: float,
    room: float,
    size: float,
    cut: str,
    kind: str,
) -> float:
    """Adds a text below y, in as many lines as it takes; how high they are."""
    rows = wrapped(text, size, room, cut)
    bases = (y + size * (1 + number * LINE_SPACING) for number in range(len(rows)))
    words = (Words(0, base, row, size, cut, kind) for base, row in zip(bases, rows, strict=True))
    parts.append(Part(role, tuple(words)))
    return size * LINE_SPACING * len(rows)


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
        left.item("", " ".join(reading))
    rule = line((0, 0), (room, 0), width=0.15, kind="rule", colour=SOFT)
    return Strip((Part(ARTIFACT, (rule,)), *left.parts, *right.parts), max(left.y, right.y))


class _Column:
    def __init__(self, wide: float, x: float) -> None:
        self.wide, self.x, self.y = wide, x, 0.6
        self.parts: list[Part] = []

    def heading(self, text: str) -> None:
        self.y += STEP_MM * 1.4
        words = Words(self.x, self.y, text, SMALL_MM, "bold", "heading")
        self.parts.append(Part(HEADING, (words,)))

    def item(self, name: str, text: str) -> None:
        """A paragraph, its first words bold."""
        self.y += PARAGRAPH_MM
        indent = width_mm(name, SMALL_MM, "bold") if name else 0.0
        marks: list[Mark] = []
        if name:
            base = self.y + STEP_MM
            marks.append(Words(self.x, base, name.rstrip(), SMALL_MM, "bold", "footer"))
        first = True
        rest = text
        while rest:
            room = self.wide - (indent if first else 0.0)
            part = wrapped(rest, SMALL_MM, room)[0]
            self.y += STEP_MM
            x = self.x + (indent if first else 0.0)
            marks.append(Words(x, self.y, part, SMALL_MM, kind="footer"))
            rest, first = rest[len(part) :].lstrip(), False
        self.parts.append(Part(PARAGRAPH, tuple(marks)))
