"""Numbers for bars whose file prints none: as a notation program would count them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from fractions import Fraction

from playalong.passage.model import ScoreBar


def numbered(bars: Sequence[ScoreBar]) -> Iterator[ScoreBar]:
    """An upbeat is 0, what fills up the bar before has its number, another the next one."""
    last, short_before = _before_first(bars), Fraction(0)
    for place, bar in enumerate(bars):
        lacks = bar.meter.bar - bar.length if bar.meter else Fraction(0)
        if bar.number:
            last = int(bar.number) if bar.number.isascii() and bar.number.isdigit() else last
            yield bar
        elif place and lacks > 0 and short_before + lacks == (bar.meter and bar.meter.bar):
            yield replace(bar, number=str(last), is_implicit=True)
            lacks = Fraction(0)
        else:
            last += 1
            yield replace(bar, number=str(last), is_implicit=last == 0)
        short_before = max(lacks, Fraction(0))


def _before_first(bars: Sequence[ScoreBar]) -> int:
    """One less than the first bar's number."""
    second = bars[1].number if len(bars) > 1 else ""
    if second.isascii() and second.isdigit():
        return int(second) - 2
    is_upbeat = bool(bars) and bars[0].meter is not None and bars[0].length < bars[0].meter.bar
    return -1 if is_upbeat else 0
