"""Which form of a melodic minor a line takes: sixth and seventh raised on the way up.

Common practice: the two degrees are raised where the line goes up from them, and as the signature
has them where it goes down. Sixths and sevenths that follow one another are all of one form, so
that no line has both side by side: in A minor A G F G A goes up in the end, and its three are G
sharp, F sharp, G sharp. A leap up from where the line came down does not turn it: B A G F B keeps
its G and F. Rests and repeats of a note do not turn it either. Where the bars end with such a
degree, the line goes on as it came.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import groupby

from playalong.music.key import RISING, Key


def rising_notes(key: Key, line: Sequence[int]) -> tuple[bool, ...]:
    """For each note of a line whether it is raised; notes are letters counted from C0."""
    raised = RISING.get(key.mode, ())
    found: list[bool] = []
    for of_two_forms, run in groupby(line, lambda index: (index - key.letter) % 7 in raised):
        notes = list(run)
        goes_up = of_two_forms and _goes_up(line, len(found) + len(notes))
        found += [goes_up] * len(notes)
    return tuple(found)


def _goes_up(line: Sequence[int], end: int) -> bool:
    """Whether the line goes up from its note before `end`, or has so come to the end."""
    last = line[end - 1]
    before = next((note for note in reversed(line[: end - 1]) if note != last), None)
    came_up = before is not None and before < last
    if end == len(line):
        return came_up
    by = line[end] - last
    return by == 1 or (by > 1 and (came_up or before is None))
