"""Reads a sheet's SVG again without the code that wrote it: where words stand, and where ink runs.

Boxes come from the letters' outlines in the file.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache, cached_property
from itertools import combinations
from xml.etree.ElementTree import Element, fromstring

from fontTools.misc.bezierTools import splitCubicAtT
from fontTools.pens.boundsPen import BoundsPen
from fontTools.pens.recordingPen import RecordingPen
from fontTools.svgLib.path import parse_path

SVG = "{http://www.w3.org/2000/svg}"
TOUCH_MM = 0.05  # boxes may share a hair
SIGNS = frozenset({"notehead", "accid", "technical", "artic", "tupletNum"})
LINES = frozenset({"slur", "tie", "half-step", "tuplet", "octave-line", "string-line", "slide"})
SAMPLES = 24  # points along each curve

Box = tuple[float, float, float, float]  # left, top, right, bottom in mm


@dataclass(frozen=True)
class Text:
    words: str
    kind: str
    box: Box


@dataclass(frozen=True)
class Stroke:
    """An outline or a line, as the file draws it."""

    kind: str
    data: str

    @cached_property
    def points(self) -> tuple[tuple[float, float], ...]:
        return tuple(_points(self.data))

    @cached_property
    def box(self) -> Box:
        return _bounds(self.data)

    def strikes(self, box: Box) -> bool:
        """Whether ink lies within a box; few strokes come near enough to be followed."""
        left, top, right, bottom = self.box
        if left > box[2] or right < box[0] or top > box[3] or bottom < box[1]:
            return False
        return any(_inside(point, box) for point in self.points)


@dataclass(frozen=True)
class Drawing:
    width: float
    height: float
    texts: tuple[Text, ...]
    strokes: tuple[Stroke, ...]


def read_drawing(svg: str) -> Drawing:
    root = fromstring(svg)
    _, _, width, height = map(float, root.attrib["viewBox"].split())
    letters = {path.attrib["id"]: _bounds(path.attrib["d"]) for path in root.find(f"{SVG}defs")}
    texts = tuple(_text(group, letters) for group in root.iter(f"{SVG}g") if _is_words(group))
    strokes = tuple(
        Stroke(path.get("class", ""), path.attrib["d"])
        for path in root.iter(f"{SVG}path")
        if "id" not in path.attrib
    )
    return Drawing(width, height, texts, strokes)


def _is_words(group: Element) -> bool:
    return "words" in group.get("class", "").split()


@cache
def _bounds(data: str) -> Box:
    pen = BoundsPen(None)
    parse_path(data, pen)
    return pen.bounds


def _text(group: Element, letters: dict[str, Box]) -> Text:
    place = re.fullmatch(r"translate\((\S+) (\S+)\) scale\((\S+)\)", group.attrib["transform"])
    right, down, scale = map(float, place.groups())
    boxes = []
    for use in group.iter(f"{SVG}use"):
        left, top, end, bottom = letters[use.attrib["href"][1:]]
        x = float(use.attrib["x"])
        boxes.append((x + left, top, x + end, bottom))
    box = (
        right + scale * min(box[0] for box in boxes),
        down + scale * min(box[1] for box in boxes),
        right + scale * max(box[2] for box in boxes),
        down + scale * max(box[3] for box in boxes),
    )
    return Text(group.attrib["aria-label"], group.attrib["class"].removeprefix("words "), box)


def _points(data: str) -> Iterator[tuple[float, float]]:
    pen = RecordingPen()
    parse_path(data, pen)
    here = (0.0, 0.0)
    for name, points in pen.value:
        if name == "lineTo":
            for step in range(1, SAMPLES):
                t = step / SAMPLES
                yield tuple(a + (b - a) * t for a, b in zip(here, points[0], strict=True))
        if name == "curveTo":
            curve = splitCubicAtT(here, *points, *(step / SAMPLES for step in range(1, SAMPLES)))
            yield from (piece[-1] for piece in curve)
        if points:
            here = points[-1]
            yield here


def overlapping_texts(drawing: Drawing) -> list[tuple[str, str]]:
    """Pairs of words whose boxes share room."""
    return [
        (one.words, two.words)
        for one, two in combinations(drawing.texts, 2)
        if _shared(one.box, two.box) > TOUCH_MM
    ]


def struck_texts(drawing: Drawing, *, allowed: frozenset[str]) -> list[tuple[str, str]]:
    """Words with ink of something else within their box, apart from the `allowed` kinds."""
    return [
        (text.words, stroke.kind)
        for stroke in drawing.strokes
        if stroke.kind not in allowed
        for text in drawing.texts
        if stroke.strikes(text.box)
    ]


def struck_signs(drawing: Drawing) -> list[tuple[str, str]]:
    """Heads, accidentals and bow marks that a slur, bracket, string's line or slide runs through.

    A slide may touch the parenthesis that it leaves or reaches.
    """
    signs = [stroke for stroke in drawing.strokes if stroke.kind in SIGNS]
    return [
        (sign.kind, stroke.kind)
        for stroke in drawing.strokes
        if stroke.kind in LINES
        for sign in signs
        if (sign.kind, stroke.kind) != ("notehead", "slide")
        if stroke.strikes(sign.box)
    ]


def outside(drawing: Drawing, margin: float) -> list[str]:
    """What leaves the paper or comes nearer to its edge than `margin` mm."""
    boxes = [(text.words, text.box) for text in drawing.texts]
    boxes += [(stroke.kind, stroke.box) for stroke in drawing.strokes]
    return [
        name
        for name, (left, top, right, bottom) in boxes
        if min(left, top) < margin
        or right > drawing.width - margin
        or bottom > drawing.height - margin
    ]


def _shared(one: Box, two: Box) -> float:
    wide = min(one[2], two[2]) - max(one[0], two[0])
    high = min(one[3], two[3]) - max(one[1], two[1])
    return min(wide, high)


def _inside(point: tuple[float, float], box: Box) -> bool:
    x, y = point
    return box[0] + TOUCH_MM < x < box[2] - TOUCH_MM and box[1] + TOUCH_MM < y < box[3] - TOUCH_MM
