"""The bars of one pass: where each begins, how long it is, and in which meter."""

from __future__ import annotations

from bisect import bisect
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from playalong.drill.pattern import Pattern
from playalong.music.meter import Meter


@dataclass(frozen=True)
class WrittenBar:
    """One written bar; times are quarters from the beginning of its pass."""

    number: int  # from 1
    start: Fraction
    length: Fraction
    meter: Meter

    @property
    def end(self) -> Fraction:
        return self.start + self.length


def written_bars(pattern: Pattern, meter: Meter) -> tuple[WrittenBar, ...]:
    """Every bar of a pass, one after the other."""
    return tuple(
        WrittenBar(number, (number - 1) * meter.bar, meter.bar, meter)
        for number in range(1, len(pattern.bars) + 1)
    )


def place_of(bars: Sequence[WrittenBar], at: Fraction) -> int:
    """Place among the bars of the one that sounds `at` so many quarters into the pass."""
    return bisect(bars, at, key=lambda bar: bar.start) - 1
