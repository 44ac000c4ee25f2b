"""Engraved systems -> plain data that the page draws: small, and every notehead by itself.

Lengths are whole hundredths of a mm. Outlines that return (clef, heads, accidentals) and words
stand once in tables shared by the whole page; lines of one width are one path for each system.
Words stay text, set to their engraved width, so that no font need be sent.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import Any

from playalong.engraving.annotations import annotated
from playalong.engraving.engrave import System, engrave
from playalong.engraving.fonts import Command, Point
from playalong.engraving.marks import SOFT, Ink, Mark, Words, around
from playalong.engraving.written_score import WrittenScore
from playalong.page.tables import Table

UNITS = 100  # in a mm
ROOMS_MM = {"wide": 230.0, "narrow": 72.0}  # as wide as lets no word fall below 11 px
OWN = ("slur", "tie")  # curves that no other is like
LETTERS = {"lineTo": "l", "curveTo": "c", "qCurveTo": "q"}


@dataclass(frozen=True)
class Signs:
    """What all systems of a page share."""

    glyphs: Table = field(default_factory=Table)  # outlines as SVG path data
    texts: Table = field(default_factory=Table)  # text, size, width, cut, kind


def engraving(written: WrittenScore, room_mm: float, signs: Signs) -> list[dict[str, Any]]:
    """The systems of one key and string at one width; what is new is added to `signs`."""
    return [
        _system(written, system, annotated(written, system, room_mm), signs)
        for system in engrave(written, room_mm)
    ]


def _system(
    written: WrittenScore, system: System, marks: Sequence[Mark], shared: Signs
) -> dict[str, Any]:
    box = around(mark.box for mark in marks)
    middles = {name: _units(box.middle) for name, box in system.heads.items()}
    heads: dict[str, list[int]] = {name: [] for name in system.heads}
    paths: dict[tuple[int, bool], str] = defaultdict(str)
    signs: list[int] = []
    words: list[int] = []
    for mark in marks:
        if isinstance(mark, Words):
            words += _words(mark, shared.texts)
        elif mark.line_mm or mark.kind in OWN or not _is_curved(mark):
            paths[_units(mark.line_mm), mark.colour == SOFT] += _path(mark.commands)
        else:
            name = _head_of(mark, system)
            (signs if name is None else heads[name]).extend(_glyph(mark, shared.glyphs))
    return {
        "box": [_units(value) for value in (box.left, box.top, box.right, box.bottom)],
        "paths": [[width, int(soft), data] for (width, soft), data in paths.items()],
        "signs": signs,
        "heads": heads,
        "columns": {name: middle for name, middle in middles.items() if name[0] == "n"},
        "words": words,
        "bars": [
            [written.bars[index].number, _units(left), _units(right)]
            for index, (left, right) in system.bars.items()
        ],
    }


def _is_curved(ink: Ink) -> bool:
    return any(name.endswith("urveTo") for name, _ in ink.commands)


def _head_of(ink: Ink, system: System) -> str | None:
    if ink.kind != "notehead":
        return None
    here = (
        name
        for name, box in system.heads.items()
        if box.left - 0.01 <= ink.box.middle <= box.right + 0.01
        and box.top - 0.01 <= ink.box.middle_y <= box.bottom + 0.01
    )
    return next(here, None)


def _words(words: Words, texts: Table) -> list[int]:
    """Number of the text, its left end and base line."""
    size, width = _units(words.size_mm), _units(words.width)
    number = texts.number([words.text, size, width, words.cut, words.kind])
    return [number, _units(words.x), _units(words.y)]


def _glyph(ink: Ink, glyphs: Table) -> list[int]:
    """Number of the outline, and where its first point lies."""
    x, y = ink.commands[0][1][0]
    moved = tuple(
        (name, tuple((px - x, py - y) for px, py in points)) for name, points in ink.commands
    )
    return [glyphs.number(_path(moved)), _units(x), _units(y)]


def _path(commands: Iterable[Command]) -> str:
    """SVG path data in whole units, relative, so that it is short."""
    data, at = "", (0, 0)
    for name, points in commands:
        if name == "closePath":
            data += "z"
        elif name == "moveTo":
            at = _point(points[0])
            data += f"M{_numbers(at)}"
        elif name != "endPath":
            ends = [_point(each) for each in points]
            data += _step(LETTERS[name], [(x - at[0], y - at[1]) for x, y in ends])
            at = ends[-1]
    return data


def _step(letter: str, steps: Sequence[tuple[int, int]]) -> str:
    if letter == "l" and steps[0][1] == 0:
        return f"h{steps[0][0]}"
    if letter == "l" and steps[0][0] == 0:
        return f"v{steps[0][1]}"
    return letter + _numbers(value for step in steps for value in step)


def _numbers(values: Iterable[int]) -> str:
    """Numbers apart by a space, or by the sign of the next one."""
    return " ".join(map(str, values)).replace(" -", "-")


def _point(point: Point) -> tuple[int, int]:
    return _units(point[0]), _units(point[1])


def _units(mm: float) -> int:
    return round(mm * UNITS + 1e-6)
