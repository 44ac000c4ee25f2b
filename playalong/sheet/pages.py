"""Systems, fingerboard, heading and footer -> pages."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from playalong.engraving.annotations import annotated
from playalong.engraving.engrave import engrave
from playalong.engraving.fonts import MUSIC, faces, width_mm, wrapped
from playalong.engraving.marks import SOFT, Ink, Mark, Words, around, line, moved, placed
from playalong.engraving.sizes import (
    LINE_SPACING,
    MARGIN_MM,
    NAME_MM,
    SMALL_MM,
    TEXT_MM,
    TITLE_MM,
    PaperSize,
)
from playalong.engraving.words import (
    CAUTION_HEADING,
    READING_HEADING,
    STAGE_HEADING,
    reading_words,
    sheet_title,
    stage_lines,
    tuning_words,
)
from playalong.engraving.written import Paper
from playalong.guidance import CAUTIONS
from playalong.music.pitch import pretty
from playalong.performance.ladder import rungs
from playalong.sheet.string_picture import Picture, pictures

SYSTEM_GAP_MM, WIDEST_GAP_MM = 5.0, 11.0
BLOCK_GAP_MM = 6.0
COLUMN_GAP_MM = 8.0
PARAGRAPH_MM = 0.6
FOOT_MM = 8.0  # the line with the page's number
STEP = SMALL_MM * LINE_SPACING
# SMuFL metronome notes: half, quarter, eighth, sixteenth, and their dot.
BEAT_SIGNS = {2: "\ueca3", 1: "\ueca5", 0.5: "\ueca7", 0.25: "\ueca9"}
BEAT_DOT = "\uecb7"


@dataclass(frozen=True)
class Block:
    """Marks from 0, 0 and the height that they take."""

    marks: tuple[Mark, ...]
    height_mm: float


def pages(paper: Paper, size: PaperSize) -> list[list[Mark]]:
    """The pages of one key and string, without their foot line; marks from the paper's corner."""
    score = paper.score
    systems = [
        _block(annotated(paper, system, size.room_mm)) for system in engrave(paper, size.room_mm)
    ]
    room = size.height_mm - 2 * MARGIN_MM - FOOT_MM
    heading, footer = _heading(paper, size.room_mm), _footer(paper, size.room_mm)
    boards = pictures(score, size.room_mm, room)
    return [
        moved(marks, MARGIN_MM, MARGIN_MM)
        for marks in _fill(heading, systems, [_of(board) for board in boards], footer, room)
    ]


def _fill(
    heading: Block, systems: Sequence[Block], boards: Sequence[Block], footer: Block, room: float
) -> list[list[Mark]]:
    """Heading, systems and pictures from the top down; the footer at the end of the music."""
    sheets = [_Sheet(room)]
    sheets[0].put(heading, 0.0)
    for place, system in enumerate(systems):
        gap = SYSTEM_GAP_MM if place else BLOCK_GAP_MM
        if not sheets[-1].has_room(system, gap):
            sheets.append(_Sheet(room))
        sheets[-1].put(system, gap, stretches=True)
    below = sum(board.height_mm + BLOCK_GAP_MM for board in boards)
    together = replace(footer, height_mm=footer.height_mm + below)
    end_of_music = sheets[-1]
    if boards and not end_of_music.has_room(together, BLOCK_GAP_MM):
        sheets.append(_Sheet(room))
    for board in boards:
        if not sheets[-1].has_room(board, BLOCK_GAP_MM):
            sheets.append(_Sheet(room))
        sheets[-1].put(board, BLOCK_GAP_MM)
    for sheet in (end_of_music, sheets[-1], _Sheet(room)):
        if sheet.has_room(footer, BLOCK_GAP_MM):
            sheet.footer = footer
            sheets += [] if sheet in sheets else [sheet]
            break
    return [sheet.marks() for sheet in sheets]


class _Sheet:
    """Blocks on one page; what room is left goes between the systems."""

    def __init__(self, room: float) -> None:
        self.room = room
        self.taken = 0.0
        self.blocks: list[tuple[Block, float, bool]] = []
        self.footer: Block | None = None

    def has_room(self, block: Block, gap: float) -> bool:
        return not self.blocks or self.taken + gap + block.height_mm <= self.room

    def put(self, block: Block, gap: float, *, stretches: bool = False) -> None:
        gap = gap if self.blocks else 0.0
        self.blocks.append((block, gap, stretches))
        self.taken += gap + block.height_mm

    def marks(self) -> list[Mark]:
        left = self.room - self.taken
        if self.footer:
            left -= self.footer.height_mm + BLOCK_GAP_MM
        count = max(1, sum(stretches for _, _, stretches in self.blocks))
        more = max(0.0, min(left / count, WIDEST_GAP_MM - SYSTEM_GAP_MM))
        y, found = 0.0, []
        for block, gap, stretches in self.blocks:
            y += gap + (more if stretches and gap else 0.0)
            found += moved(block.marks, 0, y)
            y += block.height_mm
        if self.footer:
            found += moved(self.footer.marks, 0, self.room - self.footer.height_mm)
        return found


def _block(marks: Sequence[Mark]) -> Block:
    box = around(mark.box for mark in marks)
    return Block(tuple(moved(marks, 0, -box.top)), box.height)


def _of(picture: Picture) -> Block:
    return Block(picture.marks, picture.height_mm)


def _heading(paper: Paper, room: float) -> Block:
    """Title; instrument, string and key; the ladder; how it is tuned."""
    score = paper.score
    marks: list[Mark] = []
    y = 0.0
    for size, cut, text, kind in (
        (TITLE_MM, "bold", score.drill.title, "title"),
        (NAME_MM, "regular", sheet_title(score), "key"),
    ):
        for part in wrapped(text, size, room, cut):
            y += size
            marks.append(Words(0, y, part, size, cut, kind))
            y += size * (LINE_SPACING - 1)
    y += TEXT_MM * 1.6
    sign = _beat_sign(paper, y)
    marks += sign
    x = max(mark.box.right for mark in sign) + 1.2
    tempi = rungs(score.drill.tempo)
    text = f"= {tempi[0]}" if len(tempi) == 1 else "= " + " · ".join(map(str, tempi))
    for part in wrapped(text, TEXT_MM, room - x):
        marks.append(Words(x, y, part, TEXT_MM, kind="tempo"))
        y += TEXT_MM * LINE_SPACING
    y += (SMALL_MM - TEXT_MM) / 2
    for part in wrapped(tuning_words(score), SMALL_MM, room, "italic"):
        marks.append(Words(0, y, part, SMALL_MM, "italic", "tuning"))
        y += STEP
    return Block(tuple(marks), y - STEP + 1.0)


def _beat_sign(paper: Paper, y: float) -> list[Mark]:
    meter = paper.score.drill.meter
    plain = float(meter.beat * 2 / 3 if meter.is_compound else meter.beat)
    signs = BEAT_SIGNS[plain] + (BEAT_DOT if meter.is_compound else "")
    size, x, found = TEXT_MM * 1.25, 0.0, []
    for sign in signs:
        found.append(Ink(placed(faces()[MUSIC].outline(sign), size, x, y, flip=True), kind="beat"))
        x = found[-1].box.right + 0.4
    return list(found)


def _footer(paper: Paper, room: float) -> Block:
    """Two columns: the stages and how to read the sheet; the cautions."""
    wide = (room - COLUMN_GAP_MM) / 2
    left = _Column(wide, 0.0)
    left.heading(STAGE_HEADING)
    for name, words in stage_lines(paper.score.drill.stages):
        left.item(f"{name}: ", words)
    right = _Column(wide, wide + COLUMN_GAP_MM)
    right.heading(CAUTION_HEADING)
    for caution in CAUTIONS:
        right.item("", caution)
    if reading := reading_words(paper):
        left.heading(READING_HEADING)
        left.item("", reading)
    rule = line((0, 0), (room, 0), width=0.15, kind="rule", colour=SOFT)
    return Block((rule, *left.marks, *right.marks), max(left.y, right.y))


class _Column:
    def __init__(self, wide: float, x: float) -> None:
        self.wide, self.x, self.y = wide, x, 0.6
        self.marks: list[Mark] = []

    def heading(self, text: str) -> None:
        self.y += STEP * 1.4
        self.marks.append(Words(self.x, self.y, text, SMALL_MM, "bold", "heading"))

    def item(self, name: str, text: str) -> None:
        """A paragraph, its first words bold."""
        self.y += PARAGRAPH_MM
        indent = width_mm(name, SMALL_MM, "bold") if name else 0.0
        if name:
            words = Words(self.x, self.y + STEP, name.rstrip(), SMALL_MM, "bold", "footer")
            self.marks.append(words)
        first = True
        rest = text
        while rest:
            room = self.wide - (indent if first else 0.0)
            part = wrapped(rest, SMALL_MM, room)[0]
            self.y += STEP
            x = self.x + (indent if first else 0.0)
            self.marks.append(Words(x, self.y, part, SMALL_MM, kind="footer"))
            rest, first = rest[len(part) :].lstrip(), False


def foot_line(text: str, page: int, count: int, size: PaperSize) -> list[Mark]:
    """The last line of a page: what it is, and which page of how many."""
    y = size.height_mm - MARGIN_MM
    number = f"{page} / {count}"
    right = size.width_mm - MARGIN_MM - width_mm(number, SMALL_MM)
    room = right - MARGIN_MM - COLUMN_GAP_MM
    shown = wrapped(pretty(text), SMALL_MM, room)[0]
    return [
        Words(MARGIN_MM, y, shown, SMALL_MM, kind="foot", colour=SOFT),
        Words(right, y, number, SMALL_MM, kind="foot", colour=SOFT),
    ]
