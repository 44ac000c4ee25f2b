"""The bars of one pass: where each begins, how long it is, and in which meter."""

from __future__ import annotations

from bisect import bisect
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from playalong.drill.pattern import Pattern
from playalong.music.key import Key
from playalong.music.meter import Meter


@dataclass(frozen=True)
class WrittenBar:
    """One written bar; times are quarters from the beginning of its pass."""

    number: int  # as the drill counts; an upbeat has that of the bar which it leads to
    start: Fraction
    length: Fraction
    meter: Meter
    key: Key | None = None  # that the passage has changed to; None is the drill's own
    is_upbeat: bool = False
    ends_part: bool = False  # a double bar line follows

    @property
    def end(self) -> Fraction:
        return self.start + self.length

    @property
    def line(self) -> Fraction:
        """Its bar line: where an upbeat would begin if it were a whole bar."""
        return self.end - self.meter.bar if self.is_upbeat else self.start

    def beat(self, at: Fraction) -> Fraction:
        """Beats from the bar line; in an upbeat from the one that follows, so less than 0."""
        return (at - (self.end if self.is_upbeat else self.start)) / self.meter.beat


def written_bars(
    pattern: Pattern, meter: Meter, upbeat: Fraction, first_bar: int = 1
) -> tuple[WrittenBar, ...]:
    """Every bar of a pass; an upbeat of so many quarters is taken from the last one.

    `meter` is that of the first, `first_bar` the number of the first whole one.
    """
    bars: list[WrittenBar] = []
    start, key = Fraction(0), None
    for place in range(len(pattern.bars)):
        for change in pattern.changes:
            if change.place == place:
                meter, key = change.meter or meter, change.key or key
        length = meter.bar
        if upbeat and not place:
            length = upbeat
        elif upbeat and place == len(pattern.bars) - 1:
            length -= upbeat
        leads_in = bool(upbeat) and not place
        number = first_bar + max(0, place - bool(upbeat))
        parted = place in pattern.parted
        bars.append(WrittenBar(number, start, length, meter, key, leads_in, parted))
        start += length
    return tuple(bars)


def place_of(bars: Sequence[WrittenBar], at: Fraction) -> int:
    """Place among the bars of the one that sounds `at` so many quarters into the pass."""
    return bisect(bars, at, key=lambda bar: bar.start) - 1
