"""Written score -> engraved systems, by verovio from the same MusicXML that is handed out.

verovio spaces the notes and breaks the lines; pages, and every word and number around the staff,
are set by the sheet itself, so that nothing can collide unseen.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any
from xml.etree.ElementTree import Element, tostring

from playalong.engraving.marks import Box, Mark, around
from playalong.engraving.musicxml import score_partwise
from playalong.engraving.svg_reader import Drawn, EngraveError, drawn
from playalong.engraving.written_score import WrittenScore, write_down

STAFF_MM = 7.0  # from the lowest to the highest line, as in printed parts
UNIT_MM = STAFF_MM / 720  # of verovio's drawing: ten to its page unit, 720 to a staff
PAGE_UNIT_MM = 10 * UNIT_MM
FEW_BARS = 16  # which may be spaced wide, as pages are not to be saved
WIDE, CLOSE = 0.4, 0.3  # how much room a longer note takes, in the engraver's measure
MOST_FILLED = 0.95  # of a line, by bars that are moved into it; its clef and key need room too
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
    "minLastJustification": 0.4,
    "smuflTextFont": "none",
    "svgViewBox": True,
    "xmlIdSeed": 1,
}


@dataclass(frozen=True)
class System:
    """One line of music. x from its left end, y from the top line of the staff, in mm."""

    marks: tuple[Mark, ...]
    heads: dict[str, Box]  # by note id
    bars: dict[int, tuple[float, float]]  # left and right end, by index of the written bar


def engrave(written: WrittenScore, room_mm: float) -> tuple[System, ...]:
    """Lines of music `room_mm` wide."""
    systems = _systems(written, room_mm, ())
    if starts := _better_starts(systems, room_mm):
        systems = _systems(written, room_mm, starts)
    return systems


def _systems(written: WrittenScore, room_mm: float, starts: Sequence[int]) -> tuple[System, ...]:
    systems: list[System] = []
    bar = 0
    spacing = WIDE if len(written.bars) <= FEW_BARS else CLOSE
    for page in _pages(_plain_musicxml(written, starts), room_mm, spacing, fixed=bool(starts)):
        for marks in _by_id(page, "system").values():
            system = _system(marks, bar)
            bar += len(system.bars)
            systems.append(system)
    if bar != len(written.bars):
        raise EngraveError(f"{bar} of {len(written.bars)} bars were engraved")
    return tuple(systems)


def _better_starts(systems: Sequence[System], room_mm: float) -> tuple[int, ...]:
    """Where lines begin if the last two share their bars; nothing where they do well as they are.

    The engraver fills line after line, and may leave a single bar for the last.
    """
    if len(systems) < 2 or len(systems[-2].bars) - len(systems[-1].bars) < 2:
        return ()
    bars = {**systems[-2].bars, **systems[-1].bars}
    moved = sorted(bars)[(len(bars) + 1) // 2 :]
    if sum(bars[n][1] - bars[n][0] for n in moved) > room_mm * MOST_FILLED:
        return ()
    return (*(min(system.bars) for system in systems[1:-1]), moved[0])


def _plain_musicxml(written: WrittenScore, starts: Sequence[int]) -> str:
    """Without the words that the sheet sets itself, and without slides across repeats.

    `starts` are bars that begin a line.
    """
    root = score_partwise(write_down(written.score, slides_over_repeats=False))
    for measure in root.iter("measure"):
        for direction in measure.findall("direction"):
            measure.remove(direction)
    for technical in root.iter("technical"):
        for fingering in technical.findall("fingering"):
            technical.remove(fingering)
    measures = list(root.iter("measure"))
    for start in starts:
        measures[start].insert(0, Element("print", {"new-system": "yes"}))
    for name in root.iter("part-name"):
        name.text = ""
    return tostring(root, encoding="unicode")


def _pages(musicxml: str, room_mm: float, spacing: float, *, fixed: bool) -> list[list[Drawn]]:
    import verovio

    verovio.enableLog(verovio.LOG_OFF)
    toolkit = verovio.toolkit()
    breaks = "encoded" if fixed else "auto"
    width = round(room_mm / PAGE_UNIT_MM)
    toolkit.setOptions({**OPTIONS, "breaks": breaks, "pageWidth": width, "spacingLinear": spacing})
    if not toolkit.loadData(musicxml):
        raise EngraveError("the engraver could not read the music of this drill")
    return [
        list(drawn(toolkit.renderToSVG(page), UNIT_MM))
        for page in range(1, toolkit.getPageCount() + 1)
    ]


def _by_id(marks: Sequence[Drawn], name: str) -> dict[str, list[Drawn]]:
    """Marks by the id of the element of that class which they lie in."""
    found: dict[str, list[Drawn]] = defaultdict(list)
    for each in marks:
        if name in each.classes:
            found[each.ids[each.classes.index(name)]].append(each)
    return found


def _system(marks: Sequence[Drawn], first_bar: int) -> System:
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
    return System(tuple(each.mark for each in shifted), heads, bars)
