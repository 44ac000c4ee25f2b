"""How long each event lasts, and whether every bar fills its meter."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction
from itertools import cycle

from playalong.drill.bars import WrittenBar
from playalong.drill.pattern import Event, Pattern
from playalong.music.meter import MOST_PARTS, NOTE_LENGTHS


def event_lengths(
    pattern: Pattern, note: Fraction, rhythm: Sequence[Fraction]
) -> tuple[tuple[Fraction, ...], ...]:
    """Length of every event in quarters, bar by bar.

    One without a length of its own takes the next of the rhythm; one with `*` takes none, nor does
    a grace note, which has no time of its bar.
    """
    turns = cycle(rhythm)
    return tuple(tuple(note * _plain_notes(event, turns) for event in bar) for bar in pattern.bars)


def _plain_notes(event: Event, turns: Iterator[Fraction]) -> Fraction:
    if event.grace:
        return Fraction(0)
    return next(turns) if event.length is None else event.length


def check_bars(
    pattern: Pattern,
    lengths: Sequence[Sequence[Fraction]],
    bars: Sequence[WrittenBar],
    note: Fraction,
) -> None:
    """DrillError unless every bar is filled exactly, in lengths that can be written."""
    for bar, events, spans in zip(bars, pattern.bars, lengths, strict=True):
        for event, span in zip(events, spans, strict=True):
            if span.denominator > MOST_PARTS:
                raise event.origin.error(
                    f'"{event.origin.text}" would last {span} of a quarter; a quarter has '
                    f"{MOST_PARTS} parts at most"
                )
        total = sum(spans, Fraction(0))
        if total != bar.length:
            off = abs(total - bar.length)
            side = "too long" if total > bar.length else "too short"
            raise events[0].origin.error(
                f"{_has(bar, total, note)} {_count(bar.length, note)}: {_count(off, note)} {side}"
                + _hint(bar, bars, total, note)
            )


def _has(bar: WrittenBar, total: Fraction, note: Fraction) -> str:
    """What a bar has, and who says that it should have something else."""
    if bar.is_upbeat:
        return f"the upbeat has {_count(total, note)} where upbeat says"
    if bar.length < bar.meter.bar:
        return f"bar {bar.number} has {_count(total, note)} where the upbeat leaves it"
    return f"bar {bar.number} has {_count(total, note)} where {bar.meter} takes"


def _hint(bar: WrittenBar, bars: Sequence[WrittenBar], total: Fraction, note: Fraction) -> str:
    """What may have been meant by a bar that is not filled."""
    if bar.length < bar.meter.bar and not bar.is_upbeat:
        return "; the last bar and the upbeat fill one bar together, so that repeats join"
    if bar is bars[0] and len(bars) > 1 and total < bar.length and not bar.is_upbeat:
        return f'; for an upbeat write upbeat = "{total / note}"'
    return ""


def _count(quarters: Fraction, note: Fraction) -> str:
    """A length counted in plain notes: `8 eighths`, `1 1/2 quarters`."""
    count = quarters / note
    whole, rest = divmod(count, 1)
    shown = f"{whole} {rest}" if whole and rest else str(rest or whole)
    name = next(name for name, length in NOTE_LENGTHS.items() if length == note)
    plural = "" if count <= 1 else "s"
    return f"{shown} {name}{plural}".replace("halfs", "halves")
