"""How long each token lasts, and whether every bar fills its meter."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from itertools import cycle

from playalong.drill.errors import NotationError
from playalong.drill.notation import Pattern
from playalong.music.meter import NOTE_LENGTHS, Meter

GRID = 960  # parts of a quarter; the tick grid of the MIDI file


def token_lengths(
    pattern: Pattern, note: Fraction, rhythm: Sequence[Fraction]
) -> tuple[tuple[Fraction, ...], ...]:
    """Length of every token in quarters, bar by bar.

    A token without a length of its own takes the next of the rhythm; one with `*` takes none.
    """
    turns = cycle(rhythm)
    return tuple(
        tuple(note * (next(turns) if token.length is None else token.length) for token in bar)
        for bar in pattern.bars
    )


def check_bars(
    pattern: Pattern, lengths: Sequence[Sequence[Fraction]], meter: Meter, note: Fraction
) -> None:
    """NotationError unless every bar fills the meter exactly and lies on the tick grid."""
    for number, (bar, spans) in enumerate(zip(pattern.bars, lengths, strict=True), 1):
        for token, span in zip(bar, spans, strict=True):
            if (span * GRID).denominator != 1:
                message = (
                    f'"{token.text}" would last {span} of a quarter, which no MIDI clock of '
                    f"{GRID} parts holds; lengths are halves, thirds, fifths and so on"
                )
                raise NotationError(message, token.offset)
        total = sum(spans, Fraction(0))
        if total != meter.bar:
            off = abs(total - meter.bar)
            side = "too long" if total > meter.bar else "too short"
            message = (
                f"bar {number} has {_count(total, note)} where {meter} takes "
                f"{_count(meter.bar, note)}: {_count(off, note)} {side}"
            )
            raise NotationError(message, bar[0].offset)


def _count(quarters: Fraction, note: Fraction) -> str:
    """A length counted in plain notes: `8 eighths`, `1 1/2 quarters`."""
    count = quarters / note
    whole, rest = divmod(count, 1)
    shown = f"{whole} {rest}" if whole and rest else str(rest or whole)
    name = next(name for name, length in NOTE_LENGTHS.items() if length == note)
    plural = "" if count <= 1 else "s"
    return f"{shown} {name}{plural}".replace("halfs", "halves")
