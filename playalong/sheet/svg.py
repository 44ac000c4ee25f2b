"""Marks -> SVG: everything as outlines, so that it looks the same everywhere and needs no font.

Each line of words is a group that says its text (`aria-label`) for those who listen to it; its
letters stand once in the file and are used from there.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from xml.sax.saxutils import quoteattr

from playalong.engraving.fonts import Command, Point, faces
from playalong.engraving.marks import INK, Ink, Mark, Words, scaled

DIGITS = 3  # of a mm: a thousandth is below any printer
EM = 1000  # units of a letter
LETTERS = {
    "moveTo": "M",
    "lineTo": "L",
    "curveTo": "C",
    "qCurveTo": "Q",
    "closePath": "Z",
    "endPath": "",
}

Letter = tuple[str, str]  # face and character


def svg(marks: Iterable[Mark], width_mm: float, height_mm: float, title: str) -> str:
    """A drawing in mm on white paper."""
    drawn = list(marks)
    size = f'width="{_n(width_mm)}mm" height="{_n(height_mm)}mm"'
    view = f'viewBox="0 0 {_n(width_mm)} {_n(height_mm)}"'
    head = f'<svg xmlns="http://www.w3.org/2000/svg" {size} {view} role="img" '
    head += f"aria-label={quoteattr(title)}>"
    paper = f'<rect width="{_n(width_mm)}" height="{_n(height_mm)}" fill="#ffffff"/>'
    names = _names(drawn)
    letters = [_symbol(letter, name) for letter, name in names.items()]
    body = [_path(mark) if isinstance(mark, Ink) else _words(mark, names) for mark in drawn]
    return "\n".join(
        (head, "<defs>", *letters, "</defs>", paper, *filter(None, body), "</svg>", "")
    )


def _names(marks: Sequence[Mark]) -> dict[Letter, str]:
    """An id for every letter in use, in order of appearance."""
    found: dict[Letter, str] = {}
    for mark in marks:
        if isinstance(mark, Words):
            for character, face, _ in mark.letters():
                if faces()[face].bounds(character):
                    found.setdefault((face, character), f"{face}-{ord(character):x}")
    return found


def _symbol(letter: Letter, name: str) -> str:
    """A letter in thousandths of its em, y downwards."""
    face, character = letter
    commands = scaled(faces()[face].outline(character), EM, 0, 0, flip=True)
    return f'<path id="{name}" d="{_data(commands, 0)}"/>'


def _words(words: Words, names: dict[Letter, str]) -> str:
    scale = words.size_mm / EM
    uses = "".join(
        f'<use href="#{names[face, character]}" x="{_n((x - words.x) / scale, 0)}"/>'
        for character, face, x in words.letters()
        if (face, character) in names
    )
    if not uses:
        return ""
    label = f"class={quoteattr(f'words {words.kind}'.strip())} aria-label={quoteattr(words.text)}"
    transform = f"translate({_n(words.x)} {_n(words.y)}) scale({_n(scale, 6)})"
    return f'<g role="text" {label} transform="{transform}"{_fill(words)}>{uses}</g>'


def _path(ink: Ink) -> str:
    named = f" class={quoteattr(ink.kind)}" if ink.kind else ""
    if not ink.line_mm:
        return f'<path{named} d="{_data(ink.commands)}"{_fill(ink)}/>'
    stroke = f'fill="none" stroke="{ink.colour}" stroke-width="{_n(ink.line_mm)}"'
    return f'<path{named} d="{_data(ink.commands)}" {stroke}/>'


def _fill(mark: Mark) -> str:
    return "" if mark.colour == INK else f' fill="{mark.colour}"'


def _data(commands: Iterable[Command], digits: int = DIGITS) -> str:
    return "".join(_command(name, points, digits) for name, points in commands)


def _command(name: str, points: tuple[Point, ...], digits: int) -> str:
    return LETTERS[name] + _pairs(points, digits)


def _pairs(points: Iterable[Point], digits: int) -> str:
    return " ".join(f"{_n(x, digits)} {_n(y, digits)}" for x, y in points)


def _n(value: float, digits: int = DIGITS) -> str:
    text = f"{value:.{digits}f}"
    if digits:
        text = text.rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text
