"""The two typefaces of the sheet: text and music, both from the verovio package.

They lie there packed for the web (WOFF2); here they are unpacked for measuring and outlining, and
as files for the PDF. Sizes are heights of the em in mm; x goes right, y goes down.
"""

from __future__ import annotations

import base64
import re
import unicodedata
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import cache, cached_property, lru_cache
from io import BytesIO
from pathlib import Path
from typing import Any

# Order in the style sheet of the text face; the music face has one cut.
CUTS = ("regular", "bold", "italic")
MUSIC = "music"
TEXT_FILE, MUSIC_FILE = "Liberation.css", "Leipzig.css"
MISSING = "?"  # stands for letters that neither face has
POINT_MM = 25.4 / 72
SMALL_MM = 8 * POINT_MM  # letters around the music
LINE_SPACING = 1.25

Point = tuple[float, float]
# As fontTools pens have them, a qCurveTo with one control point: moveTo, lineTo, curveTo,
# qCurveTo, closePath, endPath.
Command = tuple[str, tuple[Point, ...]]


@dataclass(frozen=True)
class Face:
    """One cut of a typeface."""

    name: str
    packed: bytes  # WOFF2

    @cached_property
    def file(self) -> bytes:
        """The font as a TrueType file; always the same bytes."""
        from fontTools.ttLib.woff2 import decompress

        unpacked = BytesIO()
        decompress(BytesIO(self.packed), unpacked)
        return unpacked.getvalue()

    @cached_property
    def font(self) -> Any:
        from fontTools.ttLib import TTFont

        return TTFont(BytesIO(self.file), lazy=True)

    @cached_property
    def characters(self) -> dict[int, str]:
        found: dict[int, str] = self.font.getBestCmap()
        return found

    @cached_property
    def em(self) -> int:
        return int(self.font["head"].unitsPerEm)

    def width_em(self, character: str) -> float:
        advance: int = self.font["hmtx"][self.characters[ord(character)]][0]
        return advance / self.em

    @cached_property
    def _glyphs(self) -> Any:
        return self.font.getGlyphSet()

    @cached_property
    def _outlines(self) -> dict[str, tuple[Command, ...]]:
        return {}

    def outline(self, character: str) -> tuple[Command, ...]:
        """Of one letter, in ems, y upwards."""
        from fontTools.pens.recordingPen import DecomposingRecordingPen

        if character not in self._outlines:
            pen = DecomposingRecordingPen(self._glyphs)
            self._glyphs[self.characters[ord(character)]].draw(pen)
            self._outlines[character] = tuple(
                (name, tuple((x / self.em, y / self.em) for x, y in points))
                for name, points in _one_by_one(pen.value)
            )
        return self._outlines[character]

    @cached_property
    def _bounds(self) -> dict[str, tuple[float, float, float, float] | None]:
        return {}

    def bounds(self, character: str) -> tuple[float, float, float, float] | None:
        """Left, lowest, right, highest of one letter in ems; None for a blank."""
        from fontTools.pens.boundsPen import BoundsPen

        if character not in self._bounds:
            pen = BoundsPen(self._glyphs)
            self._glyphs[self.characters[ord(character)]].draw(pen)
            found = pen.bounds
            self._bounds[character] = found and tuple(value / self.em for value in found)
        return self._bounds[character]


def _one_by_one(commands: Iterable[Command]) -> Iterator[Command]:
    """Runs of quadratic curves, as TrueType has them, curve by curve."""
    from fontTools.pens.basePen import decomposeQuadraticSegment

    for name, points in commands:
        if name == "qCurveTo":
            yield from ((name, curve) for curve in decomposeQuadraticSegment(points))
        else:
            yield name, points


@cache
def faces() -> dict[str, Face]:
    text = dict(zip(CUTS, _packed(TEXT_FILE), strict=False))
    music = next(_packed(MUSIC_FILE))
    return {name: Face(name, packed) for name, packed in {**text, MUSIC: music}.items()}


def _packed(file: str) -> Iterator[bytes]:
    import verovio

    style = (Path(verovio.__file__).parent / "data" / file).read_text(encoding="utf-8")
    for match in re.finditer(r"base64,([^)]*)\)", style):
        yield base64.b64decode(match[1])


def printable(text: str) -> str:
    """Text with what no face can print replaced."""
    known, whole = _known(), unicodedata.normalize("NFC", text)
    return "".join(c if ord(c) in known and c.isprintable() else MISSING for c in whole)


@cache
def _known() -> frozenset[int]:
    in_every_cut = set.intersection(*(set(faces()[cut].characters) for cut in CUTS))
    return frozenset(in_every_cut.union(faces()[MUSIC].characters))


@lru_cache(maxsize=4096)
def runs(text: str, cut: str) -> tuple[tuple[str, str], ...]:
    """Stretches of text and the face that has their letters: ♯ and ♭ come from the music face."""
    found: list[tuple[str, str]] = []
    for character in printable(text):
        face = cut if ord(character) in faces()[cut].characters else MUSIC
        if found and found[-1][1] == face:
            found[-1] = (found[-1][0] + character, face)
        else:
            found.append((character, face))
    return tuple(found)


@lru_cache(maxsize=4096)
def width_mm(text: str, size_mm: float, cut: str = "regular") -> float:
    return size_mm * sum(
        faces()[face].width_em(character) for run, face in runs(text, cut) for character in run
    )


def wrapped(text: str, size_mm: float, room_mm: float, cut: str = "regular") -> list[str]:
    """Lines of whole words within `room_mm`; a word that is longer is broken."""
    lines: list[str] = [""]
    for word in text.split():
        longer = f"{lines[-1]} {word}".strip()
        if width_mm(longer, size_mm, cut) <= room_mm:
            lines[-1] = longer
            continue
        if lines[-1]:
            lines.append("")
        for character in word:
            if width_mm(lines[-1] + character, size_mm, cut) > room_mm and lines[-1]:
                lines.append("")
            lines[-1] += character
    return lines
