"""Beams, and which way the stems point that hang on them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction
from itertools import groupby

from playalong.engraving.note_values import NoteValue
from playalong.engraving.written_score import NoteOrRest
from playalong.music.meter import Meter

EIGHTH = NoteValue(Fraction(1, 2), "eighth")
BEATS_JOINED = {(4, 4): 2, (2, 2): 2, (3, 4): 3}  # quarters that eighths are beamed over


def beams(bar: Sequence[NoteOrRest], meter: Meter) -> list[list[str]]:
    """Beam words of every note or rest of a bar, level by level.

    Words are MusicXML's: begin, continue, end, forward hook, backward hook.
    """
    found: list[list[str]] = [[] for _ in bar]
    for group in _groups(bar, meter):
        flags = [bar[index].value.flags for index in group]
        for step, index in enumerate(group):
            before = flags[step - 1] if step else 0
            after = flags[step + 1] if step + 1 < len(group) else 0
            found[index] = [
                _beam(level <= before, level <= after, first=not step)
                for level in range(1, flags[step] + 1)
            ]
    return found


def grace_beams(bar: Sequence[NoteOrRest]) -> Iterator[list[str]]:
    """Beam words of the grace notes of a bar; those in a row share theirs, one alone has a flag."""
    for is_grace, row in groupby(bar, key=lambda each: each.is_grace):
        if not is_grace:
            continue
        graces = list(row)
        for place, each in enumerate(graces):
            before, after = place > 0, place + 1 < len(graces)
            levels = each.value.flags if len(graces) > 1 else 0
            yield [_beam(before, after, first=not place)] * levels


def _beam(joined_before: bool, joined_after: bool, *, first: bool) -> str:
    if joined_before:
        return "continue" if joined_after else "end"
    return "begin" if joined_after else "forward hook" if first else "backward hook"


def _groups(bar: Sequence[NoteOrRest], meter: Meter) -> Iterator[list[int]]:
    """Runs of two or more flagged notes within one window of the meter."""
    edges = _edges(bar, meter)

    def window(each: NoteOrRest) -> int:
        return sum(edge <= each.start for edge in edges)

    run: list[int] = []
    for index, each in enumerate(bar):
        flagged = each.note is not None and each.value.flags > 0
        if run and not (flagged and window(each) == window(bar[run[0]])):
            if len(run) > 1:
                yield run
            run = []
        if flagged:
            run.append(index)
    if len(run) > 1:
        yield run


def _edges(bar: Sequence[NoteOrRest], meter: Meter) -> list[Fraction]:
    """Where beams must break: at beats; plain eighths run on over the half bar."""
    if meter.is_compound:
        return [meter.beat * number for number in range(meter.beats)]
    if meter.unit >= 8:  # twos, and a three at the end: 5/8, 7/8
        twos = range(0, max(1, meter.count - 1), 2)
        return [Fraction(4 * number, meter.unit) for number in twos]
    joined = BEATS_JOINED.get((meter.count, meter.unit), 1)
    edges: list[Fraction] = []
    for low in range(0, int(meter.bar), joined):
        inside = [each.value for each in bar if low <= each.start < low + joined]
        plain = all(value == EIGHTH for value in inside)
        edges += [Fraction(low + n) for n in (range(1) if plain else range(joined))]
    return edges


def stems(places: Sequence[int], beamed: Sequence[Sequence[str]]) -> list[str]:
    """Up or down by the head farthest from the middle line, one way for all of a beam.

    `places` are letters above the middle line.
    """
    ways: list[str] = []
    group: list[int] = []
    for place, beam in zip(places, beamed, strict=True):
        group.append(place)
        if beam and beam[0] != "end":
            continue
        ways += ["up" if max(group, key=abs) < 0 else "down"] * len(group)
        group = []
    return ways
