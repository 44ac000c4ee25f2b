"""verovio's SVG -> marks: `use`, nested scales and moves are resolved, millimetres come out.

Only what the engraver draws is read: paths, polygons, rectangles, ellipses, symbols and text.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any
from xml.etree.ElementTree import Element, fromstring

from playalong.engraving.fonts import Command, width_mm
from playalong.engraving.marks import Ink, Mark, Words, disc, line, scaled
from playalong.errors import PlayalongError

SVG = "{http://www.w3.org/2000/svg}"
HREF = "{http://www.w3.org/1999/xlink}href"
ANCHORS = {"start": 0.0, "middle": 0.5, "end": 1.0}
# Words that the sheet sets itself, and what only helps an editor.
LEFT_OUT = {
    "label", "labelAbbr", "tempo", "dir", "mNum", "placeholder", "pgHead", "pgFoot", "octave",
    "tupletBracket",
}  # fmt: skip
_NUMBER = r"(-?[\d.]+)"
_PLACED = re.compile(rf"translate\({_NUMBER},? *{_NUMBER}\) *scale\({_NUMBER}")


class EngraveError(PlayalongError):
    """Music that the engraver did not take, or a drawing of its that cannot be read."""


@dataclass(frozen=True)
class Drawn:
    """A mark and where it belongs: classes from the outside in, and the ids of the same."""

    mark: Mark
    classes: tuple[str, ...]
    ids: tuple[str, ...]


def drawn(svg: str, mm: float) -> Iterator[Drawn]:
    """Every mark of one of verovio's pages in drawing order; `mm` is the size of its unit."""
    root = fromstring(svg)
    symbols = {
        symbol.get("id", ""): _path(symbol[0].get("d", ""))
        for symbol in root.iterfind(f"{SVG}defs/*")
    }
    page = root.find(f"{SVG}svg")
    if page is not None:
        yield from _Reader(symbols, mm).read(page, (), ())


@dataclass(frozen=True)
class _Reader:
    symbols: dict[str, tuple[Command, ...]]  # y upwards
    mm: float

    def read(
        self, element: Element, classes: tuple[str, ...], ids: tuple[str, ...]
    ) -> Iterator[Drawn]:
        for child in element:
            tag = child.tag.removeprefix(SVG)
            words = child.get("class", "").split()
            if LEFT_OUT.intersection(words):
                continue
            if tag == "g":
                yield from self.read(child, (*classes, *words), (*ids, child.get("id", "")))
                continue
            for mark in self.marks(tag, child, classes):
                yield Drawn(mark, classes, ids)

    def marks(self, tag: str, element: Element, classes: tuple[str, ...]) -> Iterator[Mark]:
        """Of one element; none of those that are not drawn."""
        known = {
            "use": self._use,
            "path": self._path,
            "polygon": self._polygon,
            "rect": self._rect,
            "ellipse": self._ellipse,
            "text": self._text,
        }
        return known[tag](element, classes) if tag in known else iter(())

    def _use(self, element: Element, classes: tuple[str, ...]) -> Iterator[Mark]:
        symbol = self.symbols[element.get(HREF, "#")[1:]]
        transform = element.get("transform", "")
        match = _PLACED.search(transform)
        if match is None:
            raise EngraveError(f'the engraver put a sign at "{transform}", which is no spot')
        right, down, size = (float(number) * self.mm for number in match.groups())
        yield Ink(scaled(symbol, size, right, down, flip=True), kind=_kind(classes))

    def _path(self, element: Element, classes: tuple[str, ...]) -> Iterator[Mark]:
        commands = scaled(_path(element.get("d", "")), self.mm, 0, 0)
        width = float(element.get("stroke-width", 0)) * self.mm
        if all(name in ("moveTo", "lineTo", "endPath") for name, _ in commands):
            yield Ink(commands, width, _kind(classes))
        else:  # a slur: its outline, as thick as its pen
            yield Ink(commands, 0.0, _kind(classes))
            yield Ink(commands, width, _kind(classes))

    def _polygon(self, element: Element, classes: tuple[str, ...]) -> Iterator[Mark]:
        numbers = [float(n) * self.mm for n in re.findall(_NUMBER, element.get("points", ""))]
        points = list(zip(numbers[::2], numbers[1::2], strict=True))
        corners = line(*points, width=0.0, kind=_kind(classes))
        yield Ink((*corners.commands, ("closePath", ())), kind=corners.kind)

    def _rect(self, element: Element, classes: tuple[str, ...]) -> Iterator[Mark]:
        x, y, wide, high = (
            float(element.get(name, 0)) * self.mm for name in ("x", "y", "width", "height")
        )
        corners = line((x, y), (x + wide, y), (x + wide, y + high), (x, y + high), width=0.0)
        yield Ink((*corners.commands, ("closePath", ())), kind=_kind(classes))

    def _ellipse(self, element: Element, classes: tuple[str, ...]) -> Iterator[Mark]:
        x, y, radius = (float(element.get(name, 0)) * self.mm for name in ("cx", "cy", "rx"))
        yield disc(x, y, radius, _kind(classes))

    def _text(self, element: Element, classes: tuple[str, ...]) -> Iterator[Mark]:
        spans = [span for span in element.iter() if span.text and span.text.strip()]
        if not spans:
            return
        text = "".join((span.text or "").strip() for span in spans)
        size = float(spans[0].get("font-size", "0px").removesuffix("px")) * self.mm
        cut = "bold" if "fing" in classes else "italic"
        share = ANCHORS[element.get("text-anchor", "start")]
        x = float(element.get("x", 0)) * self.mm - share * width_mm(text, size, cut)
        y = float(element.get("y", 0)) * self.mm
        yield Words(x, y, text, size, cut, _kind(classes))


def _kind(classes: tuple[str, ...]) -> str:
    return classes[-1] if classes else ""


def _path(data: str) -> tuple[Command, ...]:
    from fontTools.pens.recordingPen import RecordingPen
    from fontTools.svgLib.path import parse_path

    pen: Any = RecordingPen()
    parse_path(data, pen)
    return tuple((name, tuple(points)) for name, points in pen.value)
