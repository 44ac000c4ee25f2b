"""Meters: bar and beat lengths in quarters, and the spans that bows and clicks may take."""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property

from playalong.errors import short

UNITS = (2, 4, 8, 16)
TICKS_PER_QUARTER = 960  # the grid of the MIDI file, where no written length needs a finer one
MOST_PARTS = 960  # of a quarter, that a length is written in
NOTE_LENGTHS = {  # in quarters
    "whole": Fraction(4),
    "half": Fraction(2),
    "quarter": Fraction(1),
    "eighth": Fraction(1, 2),
    "sixteenth": Fraction(1, 4),
}


@dataclass(frozen=True)
class Meter:
    """`count` notes of 1/`unit` make a bar."""

    count: int
    unit: int

    def __post_init__(self) -> None:
        if self.unit not in UNITS or not 1 <= self.count <= 32:
            raise ValueError(f'"{self}" is not a meter like 4/4, 3/4, 6/8 or 5/4')

    @classmethod
    def parse(cls, text: str) -> Meter:
        match = re.fullmatch(r"\s*([0-9]{1,2})\s*/\s*([0-9]{1,2})\s*", text)
        if match is None:
            raise ValueError(f'"{short(text)}" is not a meter like 4/4, 3/4, 6/8 or 5/4')
        return cls(int(match[1]), int(match[2]))

    @property
    def is_compound(self) -> bool:
        """6/8 and its kin, whose beat is the dotted note."""
        return self.unit >= 8 and self.count > 3 and self.count % 3 == 0

    @cached_property
    def bar(self) -> Fraction:
        return Fraction(4 * self.count, self.unit)

    @cached_property
    def beat(self) -> Fraction:
        return Fraction(4 * (3 if self.is_compound else 1), self.unit)

    @property
    def beats(self) -> int:
        return int(self.bar / self.beat)

    def span(self, name: str) -> Fraction:
        """Length in quarters of `half beat`, `beat`, `half bar` or `bar`."""
        if name == "half bar" and self.beats % 2:
            raise ValueError(f'"half bar" does not fall on a beat in {self}; take "bar" or "beat"')
        spans = {"half beat": self.beat / 2, "beat": self.beat, "half bar": self.bar / 2}
        return spans.get(name, self.bar)

    def __str__(self) -> str:
        return f"{self.count}/{self.unit}"
