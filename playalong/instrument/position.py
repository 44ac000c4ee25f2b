"""A position: where the hand stands along the string.

Position p lies p letters above the open string, so that the key says how far that is (Grove's
Dictionary, "Positions"). A mark makes it a fixed place instead, the same in every key: the
position's own (n), or a half step below (b) or above (#). In a thumb position the thumb lies on
the string where the first finger would stand.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

THUMB = -1  # the thumb among the fingers: below the first, and not the 0 of an open string


@dataclass(frozen=True)
class Position:
    """`number` counts letters above the open string; 0 is half position."""

    number: int
    mark: str = ""  # "n", "b" or "#" for a fixed place
    thumb: bool = False

    def up(self, letters: int) -> Position:
        return replace(self, number=self.number + letters)

    def is_within(self, highest: int, *, thumb: bool = False) -> bool:
        """Whether it lies no higher than that, or is one of the thumb's where those count too."""
        return thumb if self.thumb else self.number <= highest

    @property
    def name(self) -> str:
        """`2`, `2b`, `t7`."""
        return f"{'t' if self.thumb else ''}{self.number}{self.mark}"

    @property
    def written(self) -> str:
        """As the bar writes it, without its colon: `p2b`, `t7`."""
        return self.name if self.thumb else f"p{self.name}"

    @property
    def words(self) -> str:
        """`position 2b`, `thumb position t7`."""
        return f"{'thumb ' if self.thumb else ''}position {self.name}"

    def __str__(self) -> str:
        return self.name


FIRST_POSITION = Position(1)
_ENDINGS = {1: "st", 2: "nd", 3: "rd"}


def ordinal(number: int) -> str:
    """`2nd`."""
    ending = "th" if 10 < number % 100 < 20 else _ENDINGS.get(number % 10, "th")
    return f"{number}{ending}"


def finger_name(finger: int) -> str:
    """`1`, or `T` for the thumb."""
    return "T" if finger == THUMB else str(finger)


def finger_words(finger: int) -> str:
    """`finger 1`, or `the thumb`."""
    return "the thumb" if finger == THUMB else f"finger {finger}"
