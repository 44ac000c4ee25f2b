"""How long each event lasts, and whether every bar fills its meter."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from itertools import cycle

from playalong.drill.pattern import Pattern
from playalong.music.meter import NOTE_LENGTHS, TICKS_PER_QUARTER, Meter


def event_lengths(
    pattern: Pattern, note: Fraction, rhythm: Sequence[Fraction]
) -> tuple[tuple[Fraction, ...], ...]:
    """Length of every event in quarters, bar by bar.

    One without a length of its own takes the next of the rhythm; one with `*` takes none.
    """
    turns = cycle(rhythm)
    return tuple(
        tuple(note * (next(turns) if event.length is None else event.length) for event in bar)
        for bar in pattern.bars
    )


def check_bars(
    pattern: Pattern, lengths: Sequence[Sequence[Fraction]], meter: Meter, note: Fraction
) -> None:
    """DrillError unless every bar fills the meter exactly and lies on the tick grid."""
    for number, (bar, spans) in enumerate(zip(pattern.bars, lengths, strict=True), 1):
        for event, span in zip(bar, spans, strict=True):
            if (span * TICKS_PER_QUARTER).denominator != 1:
                raise event.origin.error(
                    f'"{event.origin.text}" would last {span} of a quarter, which no MIDI clock of '
                    f"{TICKS_PER_QUARTER} parts holds; lengths are halves, thirds, fifths and so on"
                )
        total = sum(spans, Fraction(0))
        if total != meter.bar:
            off = abs(total - meter.bar)
            side = "too long" if total > meter.bar else "too short"
            raise bar[0].origin.error(
                f"bar {number} has {_count(total, note)} where {meter} takes "
                f"{_count(meter.bar, note)}: {_count(off, note)} {side}"
            )


def _count(quarters: Fraction, note: Fraction) -> str:
    """A length counted in plain notes: `8 eighths`, `1 1/2 quarters`."""
    count = quarters / note
    whole, rest = divmod(count, 1)
    shown = f"{whole} {rest}" if whole and rest else str(rest or whole)
    name = next(name for name, length in NOTE_LENGTHS.items() if length == note)
    plural = "" if count <= 1 else "s"
    return f"{shown} {name}{plural}".replace("halfs", "halves")
