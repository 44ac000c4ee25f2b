"""A table in which equal values stand once."""

from __future__ import annotations

import json
from typing import Any


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
