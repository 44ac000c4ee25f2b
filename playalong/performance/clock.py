"""One clock for MIDI, sound and timeline.

Time comes from the whole microseconds a quarter that the MIDI file states, and every event
falls on the 64-frame block nearest to its tick, because FluidSynth acts on events at block
boundaries. What the timeline says is therefore what the sound does.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction
from math import gcd, lcm

from playalong.music.meter import TICKS_PER_QUARTER

SAMPLE_RATE_HZ = 44_100
BLOCK_FRAMES = 64
MOST_TICKS = 0x7FFF  # a quarter, that the header of a MIDI file holds (Standard MIDI Files 1.0)
FINEST = 16  # times the plain grid


def block_of_tick(tick: int, microseconds: int, ticks_per_quarter: int) -> int:
    """The 64-frame block nearest to `tick` (halves go up); exact in whole numbers."""
    numerator = tick * microseconds * SAMPLE_RATE_HZ
    denominator = ticks_per_quarter * 1_000_000 * BLOCK_FRAMES
    return (2 * numerator + denominator) // (2 * denominator)


@dataclass(frozen=True)
class Clock:
    """Quarters to ticks, blocks and seconds at one tempo."""

    microseconds: int  # a quarter, as in the MIDI set-tempo event
    finer: int = 1  # how many times finer the grid is for the lengths that are written

    @classmethod
    def at(cls, quarters_per_minute: Fraction, times: Iterable[Fraction] = ()) -> Clock:
        """Whose grid holds all these times, in quarters, as far as a MIDI file can: septuplets
        have ticks of their own. Where it cannot, a tick is far shorter than a block."""
        parts = {time.denominator for time in times}
        finer = lcm(*(each // gcd(each, TICKS_PER_QUARTER) for each in parts))
        if finer * TICKS_PER_QUARTER > MOST_TICKS:
            finer = FINEST
        return cls(round(Fraction(60_000_000) / quarters_per_minute), finer)

    @property
    def ticks_per_quarter(self) -> int:
        """The grid, doubled until a tick is no longer than a block: slow slides stay smooth."""
        ticks = TICKS_PER_QUARTER * self.finer
        while self.microseconds * SAMPLE_RATE_HZ > ticks * 1_000_000 * BLOCK_FRAMES:
            ticks *= 2
        return ticks

    def tick(self, quarters: Fraction) -> int:
        return round(quarters * self.ticks_per_quarter)

    def block(self, quarters: Fraction) -> int:
        return block_of_tick(self.tick(quarters), self.microseconds, self.ticks_per_quarter)

    def tick_of_block(self, block: int) -> int:
        """The tick nearest to a block's first frame; `block_of_tick` leads back to the block."""
        numerator = block * BLOCK_FRAMES * self.ticks_per_quarter * 1_000_000
        return round(Fraction(numerator, self.microseconds * SAMPLE_RATE_HZ))

    def seconds(self, quarters: Fraction) -> float:
        """Time of the block on which an event at `quarters` falls."""
        return block_seconds(self.block(quarters))

    def quarters(self, seconds: float | Fraction) -> Fraction:
        """A length in seconds as quarters, not snapped."""
        return Fraction(seconds) * 1_000_000 / self.microseconds


def block_seconds(block: int) -> float:
    return block * BLOCK_FRAMES / SAMPLE_RATE_HZ
