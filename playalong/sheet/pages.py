"""Written scores -> pages: heading, sections of music with their pictures, footer and foot line.

A section is the music of one string in one key, or in several keys that have the same notes.
Staves are as large as the pages allow: smaller ones must spare a page, or keep together what
belongs together.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from playalong.engraving.annotations import annotated
from playalong.engraving.engrave import engrave
from playalong.engraving.fonts import SMALL_MM, width_mm, wrapped
from playalong.engraving.marks import SOFT, Words
from playalong.engraving.spoken import spoken
from playalong.engraving.words import instrument_title, place_words, score_title
from playalong.engraving.written_score import WrittenScore
from playalong.score.model import Score
from playalong.sheet.layout import (
    ARTIFACT,
    FIGURE,
    Item,
    Layout,
    Part,
    Strip,
    best_pages,
    height_mm,
    placed,
)
from playalong.sheet.sizes import FOOT_MM, MARGIN_MM, Paper
from playalong.sheet.string_picture import pictures
from playalong.sheet.texts import COLUMN_GAP_MM, footer, heading, section_heading
from playalong.sheet.words import tuning_words

STAFF_SIZES_MM = (8.0, 7.5, 7.0)  # the largest first; printed parts have about 7
SMALLER = 0.15  # what each smaller size costs, in pages
NAME_GAP_MM = 3.0
# Above each strip, and how much more where a page has room.
SYSTEM_GAP_MM, PICTURE_GAP_MM, SECTION_GAP_MM, FOOTER_GAP_MM = (
    (3.5, 8.5), (4.0, 8.0), (7.0, 15.0), (6.0, 20.0)
)  # fmt: skip
# What it costs to begin a page within a section, in pages: of one that fits on a page, or not.
PARTED, LONG_PARTED = 1.5, 0.2


@dataclass(frozen=True)
class Section:
    """What is printed once: the written score of a string and key, and all that share its notes."""

    written: WrittenScore
    scores: tuple[Score, ...]

    @property
    def name(self) -> str:
        return place_words(self.scores)


def sections(sheets: Sequence[WrittenScore]) -> list[Section]:
    """The sheets in order; keys with the same notes on the same string are one."""
    found: dict[object, list[WrittenScore]] = {}
    for each in sheets:
        score = each.score
        same = (score.string, score.key.signature, score.notes, tuning_words(score))
        found.setdefault(same, []).append(each)
    return [Section(alike[0], tuple(each.score for each in alike)) for alike in found.values()]


def lay_out(sheets: Sequence[WrittenScore], paper: Paper) -> list[list[Part]]:
    """All pages with their foot lines; parts from the paper's corner."""
    document = _Document(sections(sheets), paper)
    pages = document.best().pages
    found = []
    for number, items in enumerate(pages, 1):
        parts = placed(items, document.high_mm)
        foot = foot_line(document.page_title(items), number, len(pages), paper)
        found.append([*(part.moved(MARGIN_MM, MARGIN_MM) for part in parts), foot])
    return found


def full_title(score: Score) -> str:
    """`First to third – Viola, D string (III), B♭ major`."""
    return f"{score.drill.title} – {score_title(score)}"


@dataclass(frozen=True)
class _Document:
    sections: Sequence[Section]
    paper: Paper

    @property
    def high_mm(self) -> float:
        return self.paper.height_mm - 2 * MARGIN_MM - FOOT_MM

    def best(self) -> Layout:
        """At the size of staff that costs least; larger ones are tried first."""
        best = None
        for count, staff_mm in enumerate(STAFF_SIZES_MM):
            price = count * SMALLER
            if best and best.cost <= 1 + price:
                break  # no layout has less than a page
            layout = best_pages(list(self.items(staff_mm)), self.high_mm)
            if best is None or layout.cost + price < best.cost:
                best = Layout(layout.pages, layout.cost + price)
        assert best is not None
        return best

    def items(self, staff_mm: float) -> Iterator[Item]:
        wide, first = self.paper.room_mm, self.sections[0]
        alone = len(self.sections) == 1
        tunings = [tuning_words(section.written.score) for section in self.sections]
        alike = len(set(tunings)) == 1
        drill = first.written.score.drill
        title = instrument_title(drill) + (f", {first.name}" if alone else "")
        yield Item(heading(drill, title, tunings[0] if alike else "", wide), "", 0.0, 0.0, 0.0)
        for section, tuning in zip(self.sections, tunings, strict=True):
            name = None if alone else section_heading(section.name, "" if alike else tuning, wide)
            yield from self.section(section, name, staff_mm)
        sheets = [section.written for section in self.sections]
        yield Item(footer(sheets, wide), "", *FOOTER_GAP_MM, 0.0)

    def section(self, section: Section, name: Strip | None, staff_mm: float) -> Iterator[Item]:
        wide, written = self.paper.room_mm, section.written
        systems = engrave(written, wide, staff_mm)
        told = spoken(written, [system.bars for system in systems])
        first, *more = [
            Strip.of(Part(FIGURE, tuple(annotated(written, system, wide)), words))
            for system, words in zip(systems, told, strict=True)
        ]
        if name:
            first = name.over(first, NAME_GAP_MM)
        boards = pictures(written.score, wide, self.high_mm)
        found = [Item(first, section.name, *SECTION_GAP_MM, 0.0)]
        found += [Item(strip, section.name, *SYSTEM_GAP_MM, PARTED) for strip in more]
        found += [Item(strip, section.name, *PICTURE_GAP_MM, PARTED) for strip in boards]
        is_long = height_mm(found) > self.high_mm
        for item in found:
            yield replace(item, break_cost=LONG_PARTED) if is_long and item.break_cost else item

    def page_title(self, items: Sequence[Item]) -> str:
        """Title and instrument, with string and key where a page holds no others."""
        first = self.sections[0].written.score.drill
        here = {item.name for item in items if item.name}
        name = f", {here.pop()}" if len(here) == 1 else ""
        return f"{first.title} – {instrument_title(first)}{name}"


def foot_line(text: str, page: int, count: int, paper: Paper) -> Part:
    """The last line of a page: what it is, and which page of how many."""
    y = paper.height_mm - MARGIN_MM
    number = f"{page} / {count}"
    right = paper.width_mm - MARGIN_MM - width_mm(number, SMALL_MM)
    room = right - MARGIN_MM - COLUMN_GAP_MM
    shown = wrapped(text, SMALL_MM, room)[0]
    words = (
        Words(MARGIN_MM, y, shown, SMALL_MM, kind="foot", colour=SOFT),
        Words(right, y, number, SMALL_MM, kind="foot", colour=SOFT),
    )
    return Part(ARTIFACT, words)
