"""Brackets and lines that span several notes (half steps, tuplets, octave signs), and the signs of
thumb and harmonic over one.

Each bracket takes its room from the skyline and hands back its marks.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from playalong.engraving.engrave import Tuplet
from playalong.engraving.fonts import SMALL_MM, width_mm
from playalong.engraving.marks import Ink, Mark, Words, around, disc, line, moved
from playalong.engraving.skyline import GAP_MM, Skyline

LINE_MM, DASH_MM = 0.2, 1.2
HOOK_MM = 1.2
BRACKET_MM = 1.1  # height of a half step's bracket
TUPLET_MM = 0.9  # and of a tuplet's
NUMBER_GAP_MM = 0.6  # beside a tuplet's number
THUMB_LINE_MM, RING_GAP_MM = 0.35, 0.5
NEAR_NOTES = 1  # between half steps whose brackets share a level

HalfStep = tuple[int, float, float]  # number of its first note, left and right end of its bracket


def half_step_brackets(steps: Sequence[HalfStep], sky: Skyline) -> Iterator[Mark]:
    """A bracket over each half step; those in a row share one level, so that none climbs."""
    for row in _rows(steps):
        low = min(sky.top(left, right) for _, left, right in row) - GAP_MM
        high = low - BRACKET_MM
        for _, left, right in row:
            corners = ((left, low), (left, high), (right, high), (right, low))
            yield line(*corners, width=LINE_MM, kind="half-step")


def _rows(steps: Sequence[HalfStep]) -> list[list[HalfStep]]:
    found: list[list[HalfStep]] = []
    for step in steps:
        if found and step[0] - (found[-1][-1][0] + 1) <= NEAR_NOTES:
            found[-1].append(step)
        else:
            found.append([step])
    return found


def octave_line(
    left: float, right: float, sky: Skyline, *, begins: bool, ends: bool
) -> Iterator[Mark]:
    """8va with a dashed line to the last note that is written an octave lower, hooked there."""
    text = "8va" if begins else "(8va)"
    width = width_mm(text, SMALL_MM, "bold")
    base = sky.top(left, max(right, left + width)) - GAP_MM - HOOK_MM
    words = Words(left, base, text, SMALL_MM, "bold", "octave")
    yield words
    x, level = words.box.right + 0.8, words.box.top + LINE_MM
    while x < right:
        yield line((x, level), (min(x + DASH_MM, right), level), width=LINE_MM, kind="octave-line")
        x += 2 * DASH_MM
    if ends and right > words.box.right:
        yield line((right, level), (right, level + HOOK_MM), width=LINE_MM, kind="octave-line")


def tuplet_bracket(tuplet: Tuplet, sky: Skyline, staff_mm: float) -> Iterator[Mark]:
    """Number and bracket under the notes, where neither fingers nor bows stand."""
    number = around(mark.box for mark in tuplet.number)
    left, right = tuplet.left, tuplet.right
    top = max(sky.bottom(left, right), staff_mm) + GAP_MM
    middle = top + max(TUPLET_MM, number.height / 2)
    centred = (left + right) / 2 - number.middle, middle - number.middle_y
    yield from moved(tuplet.number, *centred)
    beside = number.width / 2 + NUMBER_GAP_MM
    centre = (left + right) / 2
    for end, inner in ((left, centre - beside), (right, centre + beside)):
        if abs(inner - centre) < abs(end - centre):
            corners = ((end, middle - TUPLET_MM), (end, middle), (inner, middle))
            yield line(*corners, width=LINE_MM, kind="tuplet")


def thumb_sign(middle: float, base: float, high: float, kind: str) -> tuple[Ink, ...]:
    """A ring with a short stem below it, as high as a finger's number of that size."""
    radius = high * 0.24
    centre = base - 0.7 * high + radius
    ring = disc(middle, centre, radius, kind, width=THUMB_LINE_MM)
    return ring, line((middle, centre + radius), (middle, base), width=THUMB_LINE_MM, kind=kind)


def harmonic_sign(middle: float, base: float, size: float) -> Ink:
    """The small circle of a harmonic, over what stands at `base`."""
    radius = size * 0.2
    return disc(middle, base - RING_GAP_MM - radius, radius, "harmonic", width=LINE_MM)
