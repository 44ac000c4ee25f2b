"""Written scores -> pages: heading, systems, fingerboard, footer and foot line."""

from __future__ import annotations

from collections.abc import Sequence

from playalong.engraving.annotations import annotated
from playalong.engraving.engrave import engrave
from playalong.engraving.fonts import LINE_SPACING, MUSIC, SMALL_MM, faces, width_mm, wrapped
from playalong.engraving.marks import SOFT, Ink, Mark, Words, line, moved, scaled
from playalong.engraving.note_values import beat_value
from playalong.engraving.words import score_title
from playalong.engraving.written_score import WrittenScore
from playalong.guidance import CAUTIONS
from playalong.music.meter import Meter
from playalong.music.pitch import pretty
from playalong.performance.ladder import rungs
from playalong.score.explanation import stage_words
from playalong.score.model import Score
from playalong.sheet.layout import Strip, filled_pages
from playalong.sheet.sizes import MARGIN_MM, NAME_MM, TEXT_MM, TITLE_MM, Paper
from playalong.sheet.string_picture import pictures
from playalong.sheet.words import (
    CAUTION_HEADING,
    READING_HEADING,
    STAGE_HEADING,
    reading_words,
    tuning_words,
)

COLUMN_GAP_MM = 8.0
PARAGRAPH_MM = 0.6
FOOT_MM = 8.0  # the line with the page's number
STEP_MM = SMALL_MM * LINE_SPACING
# SMuFL metronome notes, and their dot.
BEAT_SIGNS = {"half": "\ueca3", "quarter": "\ueca5", "eighth": "\ueca7", "16th": "\ueca9"}
BEAT_DOT = "\uecb7"


def lay_out(sheets: Sequence[WrittenScore], paper: Paper) -> list[list[list[Mark]]]:
    """Pages of marks of every key and string, with their foot lines."""
    found = [pages(written, paper) for written in sheets]
    count, number = sum(map(len, found)), 0
    for written, own in zip(sheets, found, strict=True):
        for page in own:
            number += 1
            page += foot_line(full_title(written.score), number, count, paper)
    return found


def full_title(score: Score) -> str:
    """`First to third – Viola, D string (III), B♭ major`."""
    return f"{score.drill.title} – {score_title(score)}"


def pages(written: WrittenScore, paper: Paper) -> list[list[Mark]]:
    """The pages of one key and string, without their foot line; marks from the paper's corner."""
    wide, high = paper.room_mm, paper.height_mm - 2 * MARGIN_MM - FOOT_MM
    filled = filled_pages(
        _heading(written.score, wide),
        [Strip.of(annotated(written, system, wide)) for system in engrave(written, wide)],
        pictures(written.score, wide, high),
        _footer(written, wide),
        high,
    )
    return [moved(marks, MARGIN_MM, MARGIN_MM) for marks in filled]


def _heading(score: Score, room: float) -> Strip:
    """Title; instrument, string and key; the ladder; how it is tuned."""
    marks: list[Mark] = []
    y = 0.0
    for size, cut, text, kind in (
        (TITLE_MM, "bold", score.drill.title, "title"),
        (NAME_MM, "regular", score_title(score), "key"),
    ):
        for part in wrapped(text, size, room, cut):
            y += size
            marks.append(Words(0, y, part, size, cut, kind))
            y += size * (LINE_SPACING - 1)
    y += TEXT_MM * 1.6
    sign = _beat_sign(score.drill.meter, y)
    marks += sign
    x = max(mark.box.right for mark in sign) + 1.2
    tempi = rungs(score.drill.tempo)
    for part in wrapped("= " + " · ".join(map(str, tempi)), TEXT_MM, room - x):
        marks.append(Words(x, y, part, TEXT_MM, kind="tempo"))
        y += TEXT_MM * LINE_SPACING
    y += (SMALL_MM - TEXT_MM) / 2
    for part in wrapped(tuning_words(score), SMALL_MM, room, "italic"):
        marks.append(Words(0, y, part, SMALL_MM, "italic", "tuning"))
        y += STEP_MM
    return Strip(tuple(marks), y - STEP_MM + 1.0)


def _beat_sign(meter: Meter, y: float) -> list[Mark]:
    """The note that the tempi count."""
    beat = beat_value(meter)
    signs = BEAT_SIGNS[beat.type] + BEAT_DOT * beat.dots
    size, x, found = TEXT_MM * 1.25, 0.0, []
    for sign in signs:
        found.append(Ink(scaled(faces()[MUSIC].outline(sign), size, x, y, flip=True), kind="beat"))
        x = found[-1].box.right + 0.4
    return list(found)


def _footer(written: WrittenScore, room: float) -> Strip:
    """Two columns: the stages and how to read the sheet; the cautions."""
    wide = (room - COLUMN_GAP_MM) / 2
    left = _Column(wide, 0.0)
    left.heading(STAGE_HEADING)
    for stage in written.score.drill.stages:
        left.item(f"{stage.name}: ", stage_words(stage, [written.score]))
    right = _Column(wide, wide + COLUMN_GAP_MM)
    right.heading(CAUTION_HEADING)
    for caution in CAUTIONS:
        right.item("", caution)
    if reading := reading_words(written):
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


def foot_line(text: str, page: int, count: int, paper: Paper) -> list[Mark]:
    """The last line of a page: what it is, and which page of how many."""
    y = paper.height_mm - MARGIN_MM
    number = f"{page} / {count}"
    right = paper.width_mm - MARGIN_MM - width_mm(number, SMALL_MM)
    room = right - MARGIN_MM - COLUMN_GAP_MM
    shown = wrapped(pretty(text), SMALL_MM, room)[0]
    return [
        Words(MARGIN_MM, y, shown, SMALL_MM, kind="foot", colour=SOFT),
        Words(right, y, number, SMALL_MM, kind="foot", colour=SOFT),
    ]
