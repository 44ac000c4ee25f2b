"""Tables in which equal values stand once, and columns of values packed into letters."""

from __future__ import annotations

import json
from collections.abc import Iterable, Sequence
from itertools import pairwise
from typing import Any

# One byte each, and none that JSON or HTML would write longer.
LETTERS = "".join(chr(n) for n in range(ord("#"), ord("~") + 1) if chr(n) not in "<\\")


class Table:
    """Values in the order in which they first came."""

    def __init__(self) -> None:
        self.values: list[Any] = []
        self._numbers: dict[str, int] = {}

    def number(self, value: Any) -> int:
        """The value's place in the table."""
        key = json.dumps(value)
        if key not in self._numbers:
            self._numbers[key] = len(self.values)
            self.values.append(value)
        return self._numbers[key]


def packed(column: Iterable[Any]) -> list[Any]:
    """`[values, text]`: each letter of the text is the value at the letter's place in LETTERS.

    `[column]` as it is where it has more different values than there are letters, or is shorter.
    """
    column = list(column)
    values = list(dict.fromkeys(column))
    if len(values) > len(LETTERS):
        return [column]
    text = "".join(LETTERS[values.index(value)] for value in column)
    return min([column], [values, text], key=lambda each: len(json.dumps(each)))


def steps(values: Sequence[int]) -> list[int]:
    """The first value, then how far each is from the one before."""
    return [after - before for before, after in pairwise([0, *values])]
