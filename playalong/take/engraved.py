"""The engraved drill, read back from the practice page that `make` wrote, with marks over heads.

The page holds the lines of music as plain data (`page/systems` is the format), so the drill file
need not be at hand. Where there is no page, or one of another make, there is no marked sheet.
"""

from __future__ import annotations

import json
import re
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from html import escape
from pathlib import Path
from typing import Any

from playalong.folder.names import PAGE_FILE
from playalong.take.marks import kind, sign
from playalong.take.model import Heard, HeardNote

FORMAT = "playalong page 2"
DATA = re.compile(r'<script type="application/json" id="data">(.*?)</script>', re.DOTALL)
EDGE = 150  # around a system, in hundredths of a mm
ROW = 420  # of marks, for each pass
LANE = 270  # between marks that would touch
MARK_SIZE = 300
PASS_SIZE = 210
TITLE_SIZE, MEANING_SIZE = 420, 300
MEANING = (
    "A row for each pass: cents beyond 5, with an arrow, doubled beyond 15; · within 5; "
    "? not judged; ( ) not heard; a name for another note."
)
SLIM, SLIM_SAVES = "·?( )", 0.5  # signs of half a letter
LETTER, GAP = 0.72, 0.3  # of a mark's size: for each of its letters, and between two
UNITS = 100  # in a mm
LEAST_WIDTH = 150 * UNITS
READING_ERRORS = (ValueError, KeyError, TypeError, IndexError, AttributeError, RecursionError)


@dataclass(frozen=True)
class Engraved:
    """The lines of music of one key and string, and the signs and words that they use."""

    systems: Sequence[Mapping[str, Any]]
    glyphs: Sequence[str]
    texts: Sequence[Sequence[Any]]

    @classmethod
    def read(cls, out: Path, key: str, string: str | None) -> Engraved | None:
        try:
            found = DATA.search((out / PAGE_FILE).read_text(encoding="utf-8"))
            data = json.loads(found[1]) if found else {}
            if data["format"] != FORMAT:
                return None
            (chosen,) = (
                each for each in data["sets"] if (each["key"], each["string"]) == (key, string)
            )
            return cls(chosen["lines"]["wide"], data["glyphs"], data["texts"])
        except (OSError, *READING_ERRORS):
            return None

    def marked(self, heard: Heard, title: str = "") -> str | None:
        """The lines one under the other as SVG, a row of marks over them for each pass.

        With a title it is a sheet of its own, which tells what its marks mean.
        """
        try:
            return self._drawn(_by_number(heard), title)
        except READING_ERRORS:
            return None

    def _drawn(self, notes: Mapping[int, Sequence[HeardNote]], title: str) -> str:
        left = min(system["box"][0] for system in self.systems) - EDGE
        right = max(system["box"][2] for system in self.systems) + EDGE
        right = max(right, left + LEAST_WIDTH)  # so that a page does not blow up a single bar
        parts, y = [], 0
        if title:
            parts.append(f"<title>{escape(title)}</title>")
            parts.append(_line(title, left + EDGE, TITLE_SIZE + EDGE, TITLE_SIZE))
            y += TITLE_SIZE + 2 * EDGE
        for system in self.systems:
            marks = list(marks_over(system, notes))
            height = sum(ROW + (row.lanes - 1) * LANE for row in marks)
            top, bottom = system["box"][1] - EDGE - height, system["box"][3] + EDGE
            inside = "".join((*self._system(system), *_written(marks, top, left + EDGE)))
            parts.append(f'<g transform="translate(0 {y - top})">{inside}</g>')
            y += bottom - top
        if title:
            parts.append(_line(MEANING, left + EDGE, y + MEANING_SIZE, MEANING_SIZE))
            y += MEANING_SIZE + 2 * EDGE
        named = f'role="img"><title>{escape(title)}</title>'
        shown = named if title else 'aria-hidden="true">'
        defs = "".join(
            f'<path id="glyph-{number}" d="{escape(path)}"/>'
            for number, path in enumerate(self.glyphs)
        )
        return (
            f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="{left} 0 {right - left} {y}" '
            f'width="{(right - left) / UNITS}mm" height="{y / UNITS}mm" class="music" '
            'fill="currentColor" font-family="Liberation Serif, Times New Roman, serif" '
            f"{shown}<defs>{defs}</defs>{''.join(parts)}</svg>\n"
        )

    def _system(self, system: Mapping[str, Any]) -> Iterator[str]:
        for width, soft, path in system["paths"]:
            ink = f'fill="none" stroke="currentColor" stroke-width="{width}"' if width else ""
            faint = ' opacity="0.6"' if soft else ""
            yield f'<path d="{escape(path)}" {ink}{faint}/>'
        for flat in (system["signs"], *system["heads"].values()):
            for number, x, y in _threes(flat):
                yield f'<use href="#glyph-{number}" x="{x}" y="{y}"/>'
        for number, x, y in _threes(system["words"]):
            text, size, width, cut, _ = self.texts[number]
            style = {"bold": ' font-weight="700"', "italic": ' font-style="italic"'}.get(cut, "")
            yield (
                f'<text x="{x}" y="{y}" font-size="{size}" textLength="{width}" '
                f'lengthAdjust="spacingAndGlyphs"{style}>{escape(text)}</text>'
            )


@dataclass(frozen=True)
class MarksOfPass:
    """Over one line of music; where two would touch, one stands a lane lower than the other."""

    pass_number: int
    placed: tuple[tuple[float, int, HeardNote], ...]  # x, lane from above, note

    @property
    def lanes(self) -> int:
        return 1 + max(lane for _, lane, _ in self.placed)


def _line(text: str, x: float, y: float, size: int) -> str:
    return f'<text x="{x}" y="{y}" font-size="{size}">{escape(text)}</text>'


def marks_over(
    system: Mapping[str, Any], notes: Mapping[int, Sequence[HeardNote]]
) -> Iterator[MarksOfPass]:
    """A row for each pass, the first one on top."""
    by_pass: dict[int, list[tuple[float, HeardNote]]] = defaultdict(list)
    for column, x in system["columns"].items():
        for heard in notes.get(int(column[1:].split("-")[0]), ()):
            by_pass[heard.note.pass_number].append((x, heard))
    for number, placed in sorted(by_pass.items()):
        ends: list[float] = []  # of what stands in each lane so far
        laid = []
        for x, heard in sorted(placed, key=lambda one: one[0]):
            told = _told(heard)
            letters = len(told) - SLIM_SAVES * sum(letter in SLIM for letter in told)
            half = (letters * LETTER + GAP) * MARK_SIZE / 2
            free = (lane for lane, end in enumerate(ends) if end <= x - half)
            lane = next(free, len(ends))
            ends[lane : lane + 1] = [x + half]
            laid.append((x, lane, heard))
        yield MarksOfPass(number, tuple(laid))


def _written(rows: Sequence[MarksOfPass], top: float, left: float) -> Iterator[str]:
    y = top
    for row in rows:
        y += ROW
        if len(rows) > 1:
            yield (
                f'<text x="{left}" y="{y}" font-size="{PASS_SIZE}" font-style="italic">'
                f"pass {row.pass_number}</text>"
            )
        for x, lane, heard in row.placed:
            yield (
                f'<text x="{x}" y="{y + lane * LANE}" font-size="{MARK_SIZE}" '
                f'text-anchor="middle" class="mark {kind(heard)}" data-note="{heard.index}">'
                f"{escape(_told(heard))}</text>"
            )
        y += (row.lanes - 1) * LANE


def _told(heard: HeardNote) -> str:
    return sign(heard) or "·"


def _by_number(heard: Heard) -> dict[int, list[HeardNote]]:
    """The passes of each written note, by its number on the page; passes with nothing left out."""
    beats = sorted({(each.note.bar, each.note.beat) for each in heard.notes})
    numbers = {beat: number for number, beat in enumerate(beats)}
    passes = {each.note.pass_number for each in heard.notes if each.heard}
    found: dict[int, list[HeardNote]] = defaultdict(list)
    for each in heard.notes:
        if each.note.pass_number in passes or not passes:
            found[numbers[each.note.bar, each.note.beat]].append(each)
    return found


def _threes(flat: Sequence[int]) -> Iterator[tuple[int, int, int]]:
    return zip(flat[0::3], flat[1::3], flat[2::3], strict=True)
