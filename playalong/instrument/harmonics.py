"""Natural harmonics: where a finger touches the open string, and what then sounds.

A string touched k nths of its length from an end, k and n without a common factor, sounds its
nth partial (acoustics of the ideal string).
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from math import gcd, log2

from playalong.music.pitch import Pitch

# Partial -> letters and semitones above the open string.
PARTIALS = {2: (7, 12), 3: (11, 19), 4: (14, 24), 5: (16, 28), 6: (18, 31)}
NEAREST_CENTS = 35.0  # a finger this far from the node still makes it speak


@dataclass(frozen=True)
class Node:
    """A place on the open string at which its `partial` speaks."""

    partial: int
    share: Fraction  # of the string, from the nut

    def sounding(self, open_string: Pitch) -> Pitch:
        """What speaks, as it is spelled."""
        return open_string.moved(*PARTIALS[self.partial])

    @property
    def cents(self) -> float:
        """Above the open string, as a note stopped there would sound."""
        return -1200 * log2(1 - self.share)


NODES = tuple(
    Node(partial, Fraction(k, partial))
    for partial in PARTIALS
    for k in range(1, partial)
    if gcd(k, partial) == 1
)


def node_near(cents: float) -> Node | None:
    """The node nearest to a place so many cents above the open string, None where none is near.

    Of two as near, the lower partial speaks.
    """
    nearest = min(NODES, key=lambda node: abs(node.cents - cents))
    return nearest if abs(nearest.cents - cents) <= NEAREST_CENTS else None


def _half_steps() -> str:
    *lower, highest = sorted({round(node.cents / 100) for node in NODES})
    return f"{', '.join(map(str, lower))} and {highest}"


NODES_OFFER = f"harmonics speak about {_half_steps()} half steps above the open string"
