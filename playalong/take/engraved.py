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
MARK_SIZE = 300
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

    def marked(self, heard: Heard) -> str | None:
        """The lines one under the other as SVG, a row of marks over them for each pass."""
        try:
            return self._drawn(_by_number(heard))
        except READING_ERRORS:
            return None

    def _drawn(self, notes: Mapping[int, Sequence[HeardNote]]) -> str:
        rows = max(len(each) for each in notes.values())
        left = min(system["box"][0] for system in self.systems) - EDGE
        right = max(system["box"][2] for system in self.systems) + EDGE
        right = max(right, left + LEAST_WIDTH)  # so that a page does not blow up a single bar
        parts, y = [], 0
        for system in self.systems:
            top, bottom = system["box"][1] - EDGE - rows * ROW, system["box"][3] + EDGE
            inside = "".join(self._system(system, notes))
            parts.append(f'<g transform="translate(0 {y - top})">{inside}</g>')
            y += bottom - top
        defs = "".join(
            f'<path id="glyph-{number}" d="{escape(path)}"/>'
            for number, path in enumerate(self.glyphs)
        )
        return (
            f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="{left} 0 {right - left} {y}" '
            f'width="{(right - left) / UNITS}mm" height="{y / UNITS}mm" class="music" '
            'fill="currentColor" font-family="Liberation Serif, Times New Roman, serif" '
            f'aria-hidden="true"><defs>{defs}</defs>{"".join(parts)}</svg>\n'
        )

    def _system(
        self, system: Mapping[str, Any], notes: Mapping[int, Sequence[HeardNote]]
    ) -> Iterator[str]:
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
        yield from self._marks(system, notes)

    def _marks(
        self, system: Mapping[str, Any], notes: Mapping[int, Sequence[HeardNote]]
    ) -> Iterator[str]:
        for column, x in system["columns"].items():
            number = int(column[1:].split("-")[0])
            for row, heard in enumerate(notes.get(number, ())):
                y = system["box"][1] - ROW * (len(notes[number]) - 1 - row) - EDGE
                yield (
                    f'<text x="{x}" y="{y}" font-size="{MARK_SIZE}" text-anchor="middle" '
                    f'class="mark {kind(heard)}" data-note="{heard.index}">'
                    f"{escape(sign(heard) or '·')}</text>"
                )


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
