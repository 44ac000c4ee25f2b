"""A pupil's reach, as it is written: `1-4`, or one position."""

from __future__ import annotations

from playalong.errors import PlayalongError


class ReachError(PlayalongError):
    """A reach that is none."""


def parse_reach(text: str) -> tuple[int, int]:
    """Lowest and highest position, both within. Raises ReachError."""
    low, dash, high = text.strip().partition("-")
    if not (_is_number(low) and (_is_number(high) or not dash)):
        raise ReachError(f'"{text}" is not a reach like 1-4')
    reach = int(low), int(high or low)
    if reach[0] > reach[1]:
        raise ReachError(f'"{text}" is upside down; did you mean "{high}-{low}"?')
    return reach


def _is_number(text: str) -> bool:
    return text.isascii() and text.isdecimal() and len(text) < 4
