"""Written score -> engraved systems, by verovio from the same MusicXML that is handed out.

verovio spaces the notes and breaks the lines; pages, and every word and number around the staff,
are set by the sheet itself, so that nothing can collide unseen.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from copy import deepcopy
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise
from typing import Any
from xml.etree.ElementTree import Element, tostring

from playalong.engraving.marks import Box, Mark, around
from playalong.engraving.musicxml import score_partwise
from playalong.engraving.svg_reader import Drawn, EngraveError, drawn
from playalong.engraving.written_score import WrittenScore, write_down

STAFF_MM = 7.0  # from the lowest to the highest line, as in printed parts
STAFF_UNITS = 720  # of the engraver's drawing to a staff
PAGE_UNITS = 10  # of its drawing to one of its pages
FEW_BARS = 16  # which may be spaced wide, as pages are not to be saved
WIDE, CLOSE = 0.4, 0.3  # how much room a longer note takes, in the engraver's measure
# The share of the room from which the last line is stretched to its end: a short one, another.
SHORT_FULL, LAST_FULL = 0.75, 0.3
MOST_FILLED = 0.95  # of a line, by bars that are moved into it; its clef and key need room too
TUPLET_NUMBER = "tupletNum"  # set anew by the annotations, apart from fingers and bows
OPTIONS: dict[str, Any] = {
    "header": "none",
    "footer": "none",
    "pageHeight": 60_000,  # one endless page: the sheet breaks pages itself
    "adjustPageHeight": True,
    "pageMarginLeft": 0,
    "pageMarginRight": 0,
    "pageMarginTop": 0,
    "pageMarginBottom": 0,
    "scale": 100,
    "smuflTextFont": "none",
    "svgViewBox": True,
    "rightMarginClef": 1.5,
    "xmlIdSeed": 1,
}


@dataclass(frozen=True)
class Tuplet:
    """Notes in the time of others: from its first to its last sign, and its number's own signs."""

    left: float
    right: float
    number: tuple[Mark, ...]


@dataclass(frozen=True)
class System:
    """One line of music. x from its left end, y from the top line of the staff, in mm."""

    marks: tuple[Mark, ...]
    heads: dict[str, Box]  # by note id
    bars: dict[int, tuple[float, float]]  # left and right end, by index of the written bar
    tuplets: tuple[Tuplet, ...]
    staff_mm: float


def engrave(
    written: WrittenScore, room_mm: float, staff_mm: float = STAFF_MM
) -> tuple[System, ...]:
    """Lines of music `room_mm` wide; a last one of fewer bars is not stretched."""
    engraver = _Engraver(written, room_mm, staff_mm)
    systems = engraver.systems(SHORT_FULL)
    starts = _starts(systems, room_mm)
    *others, last = (end - start for start, end in pairwise((*starts, len(written.bars))))
    is_short = bool(others) and last < others[-1]
    if is_short and starts == tuple(min(system.bars) for system in systems):
        return systems
    return engraver.systems(SHORT_FULL if is_short else LAST_FULL, starts)


@dataclass(frozen=True)
class _Engraver:
    written: WrittenScore
    room_mm: float
    staff_mm: float

    @property
    def unit_mm(self) -> float:
        return self.staff_mm / STAFF_UNITS

    @cached_property
    def music(self) -> Element:
        return _plain_musicxml(self.written)

    def systems(self, last_full: float, starts: Sequence[int] = ()) -> tuple[System, ...]:
        """All lines; `starts` are the bars that begin them, where the engraver is not to choose."""
        found: list[System] = []
        bar, count = 0, len(self.written.bars)
        options = {
            **OPTIONS,
            "breaks": "encoded" if starts else "auto",
            "pageWidth": round(self.room_mm / (PAGE_UNITS * self.unit_mm)),
            "spacingLinear": WIDE if count <= FEW_BARS else CLOSE,
            "minLastJustification": last_full,
        }
        for page in _pages(_broken(self.music, starts), options):
            for marks in _by_id(list(drawn(page, self.unit_mm)), "system").values():
                found.append(_system(marks, bar, self.staff_mm))
                bar += len(found[-1].bars)
        if bar != count:
            raise EngraveError(f"{bar} of {count} bars were engraved")
        return tuple(found)


def _starts(systems: Sequence[System], room_mm: float) -> tuple[int, ...]:
    """The bars that begin a line; the last two lines share their bars where that is better.

    The engraver fills line after line, and may leave a single bar for the last.
    """
    starts = tuple(min(system.bars) for system in systems)
    if len(systems) < 2 or len(systems[-2].bars) - len(systems[-1].bars) < 2:
        return starts
    bars = {**systems[-2].bars, **systems[-1].bars}
    moved = sorted(bars)[(len(bars) + 1) // 2 :]
    if sum(bars[n][1] - bars[n][0] for n in moved) > room_mm * MOST_FILLED:
        return starts
    return (*starts[:-1], moved[0])


OWN_SIGNS = ("fingering", "thumb-position", "harmonic")  # the sheet sets them itself


def _plain_musicxml(written: WrittenScore) -> Element:
    """Without the words that the sheet sets itself, and without slides across repeats."""
    root = score_partwise(write_down(written.score, slides_over_repeats=False))
    for measure in root.iter("measure"):
        for direction in measure.findall("direction"):
            if direction.find("direction-type/octave-shift") is None:
                measure.remove(direction)
    for technical in root.iter("technical"):
        for sign in [each for each in technical if each.tag in OWN_SIGNS]:
            technical.remove(sign)
    for name in root.iter("part-name"):
        name.text = ""
    return root


def _broken(music: Element, starts: Sequence[int]) -> str:
    """The music as text, broken before the bars that begin a line."""
    root = deepcopy(music)
    measures = list(root.iter("measure"))
    for start in starts[1:]:
        measures[start].insert(0, Element("print", {"new-system": "yes"}))
    return tostring(root, encoding="unicode")


def _pages(musicxml: str, options: dict[str, Any]) -> list[str]:
    import verovio

    verovio.enableLog(verovio.LOG_OFF)
    toolkit = verovio.toolkit()
    toolkit.setOptions(options)
    if not toolkit.loadData(musicxml):
        raise EngraveError("the engraver could not read the music of this drill")
    return [toolkit.renderToSVG(page) for page in range(1, toolkit.getPageCount() + 1)]


def _by_id(marks: Sequence[Drawn], name: str) -> dict[str, list[Drawn]]:
    """Marks by the id of the element of that class which they lie in."""
    found: dict[str, list[Drawn]] = defaultdict(list)
    for each in marks:
        if name in each.classes:
            found[each.ids[each.classes.index(name)]].append(each)
    return found


def _system(marks: Sequence[Drawn], first_bar: int, staff_mm: float) -> System:
    lines = [each.mark.box for each in marks if each.classes[-1] == "staff"]
    left, top = min(box.left for box in lines), min(box.top for box in lines)
    shifted = [Drawn(each.mark.moved(-left, -top), each.classes, each.ids) for each in marks]
    heads = {
        name: around(each.mark.box for each in parts if "notehead" in each.classes)
        for name, parts in _by_id(shifted, "note").items()
    }
    bars = {}
    for number, parts in enumerate(_by_id(shifted, "measure").values(), first_bar):
        box = around(each.mark.box for each in parts if each.classes[-1] == "staff")
        bars[number] = (box.left, box.right)
    tuplets = tuple(_tuplet(parts) for parts in _by_id(shifted, "tuplet").values())
    kept = tuple(each.mark for each in shifted if each.classes[-1] != TUPLET_NUMBER)
    return System(kept, heads, bars, tuplets, staff_mm)


def _tuplet(parts: Sequence[Drawn]) -> Tuplet:
    signs = around(each.mark.box for each in parts if each.classes[-1] in ("notehead", "rest"))
    number = tuple(each.mark for each in parts if each.classes[-1] == TUPLET_NUMBER)
    return Tuplet(signs.left, signs.right, number)
