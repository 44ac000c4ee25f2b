"""The Score: the written notes in beats, for one key and one string.

A place is one stand of the climb; a pass is one playing of the written bars there. Times are
exact quarters from the first beat after the count-in.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property

from playalong.drill.model import Drill
from playalong.instrument.fingerboard import Hand, Stop
from playalong.instrument.shift import Kind, Travel
from playalong.music.key import Key
from playalong.music.pitch import Pitch


@dataclass(frozen=True)
class Note:
    """One written note, where it falls and what stops it."""

    start: Fraction  # quarters
    length: Fraction  # quarters
    pitch: Pitch  # sounding
    hz: float
    string: str | None
    position: int | None
    finger: int | None
    place: int  # from 1, as are the next two
    pass_number: int
    bar: int  # written bars, counted on through the climb
    beat: Fraction  # beats from the bar line
    bow: tuple[int, int, int]  # notes that agree in it share a bow
    arrival: Travel | None = None  # the travel that leads into it
    heard: bool = False  # whether that travel may sound

    @property
    def end(self) -> Fraction:
        return self.start + self.length

    @property
    def stop(self) -> Stop | None:
        if not (self.finger and self.string) or self.position is None:
            return None
        return Stop(self.string, self.position, self.finger, self.pitch)

    @property
    def is_landing(self) -> bool:
        """Whether a shift, or a slide written with ~, lands on it."""
        return self.arrival is not None and (self.heard or self.arrival.kind is not Kind.HALF_STEP)


@dataclass(frozen=True)
class Score:
    drill: Drill
    key: Key
    string: str | None
    passes: int
    places: tuple[int, ...]  # letters that each place lies above the written one
    notes: tuple[Note, ...]
    left_out: tuple[str, ...] = ()  # places beyond the player's reach, told
    warnings: tuple[str, ...] = ()

    @cached_property
    def hand(self) -> Hand:
        return Hand(self.drill.instrument, self.key, self.drill.tuning)

    @property
    def pass_length(self) -> Fraction:
        return self.drill.meter.bar * len(self.drill.pattern.bars)

    @property
    def length(self) -> Fraction:
        """Quarters from the first beat to the end of the last bar."""
        count = len(self.places) * self.passes
        return count * self.pass_length + (count - 1) * self.drill.gap * self.drill.meter.bar

    def pass_starts(self) -> Iterator[tuple[int, int, Fraction]]:
        """Place, pass and start in quarters of every playing of the written bars."""
        return pass_starts(self.drill, len(self.places), self.passes)


def pass_starts(drill: Drill, places: int, passes: int) -> Iterator[tuple[int, int, Fraction]]:
    """Place and pass, from 1, and start in quarters of every playing of the written bars."""
    stride = drill.meter.bar * (len(drill.pattern.bars) + drill.gap)
    for count in range(places * passes):
        yield count // passes + 1, count % passes + 1, count * stride
