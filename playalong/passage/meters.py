"""The meter that a score prints, as the one that a drill counts in."""

from __future__ import annotations

import re
from fractions import Fraction

from playalong.errors import short
from playalong.music.meter import Meter

MOST_TERMS = 8


def meter_of(text: str) -> tuple[Meter | None, str]:
    """`3/4`, or the sum of `3+2/8` and `3/8+2/8`; with its words where it is none, or a sum.

    No meter where no drill has it.
    """
    try:
        return Meter.parse(text), ""
    except ValueError:
        words = short(text, 20) or "none"
    groups = re.findall(r"([0-9+]+)/([0-9]{1,2})", text.replace("(", "").replace(")", ""))
    counts = [(each, int(unit)) for above, unit in groups for each in above.split("+") if each]
    if not 1 < len(counts) <= MOST_TERMS or not all(unit for _, unit in counts):
        return None, words
    smallest = max(unit for _, unit in counts)
    total = sum(Fraction(int(each[:2]) * smallest, unit) for each, unit in counts)
    try:
        return Meter.parse(f"{total}/{smallest}"), words
    except ValueError:
        return None, words
