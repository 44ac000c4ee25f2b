"""Lengths as they are written: note types with dots, ties where one is not enough, and beams.

A length whose denominator has an odd part d is written d in the time of the largest power of
two below d, as MusicXML's time-modification has it. In compound meters a note that hides a beat
is tied across it; rests show every beat (common practice).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction

from playalong.errors import PlayalongError
from playalong.music.meter import Meter

NAMES = (
    "long", "breve", "whole", "half", "quarter", "eighth",
    "16th", "32nd", "64th", "128th", "256th", "512th", "1024th",
)  # fmt: skip
TYPES = tuple((name, Fraction(16, 2**power)) for power, name in enumerate(NAMES))  # quarters
FLAGS = {name: max(0, power - 4) for power, name in enumerate(NAMES)}
EIGHTH = Fraction(1, 2)
BEATS_JOINED = {(4, 4): 2, (2, 2): 2, (3, 4): 3}  # quarters that eighths are beamed over


class LengthError(PlayalongError):
    """A length that notation has no sign for."""


@dataclass(frozen=True)
class Sign:
    """One note or rest sign: `length` sounds, in quarters; `ratio` is (notes, in the time of)."""

    length: Fraction
    type: str
    dots: int = 0
    ratio: tuple[int, int] | None = None

    @property
    def flags(self) -> int:
        return FLAGS[self.type]


def note_signs(start: Fraction, length: Fraction, meter: Meter) -> list[Sign]:
    """Signs to be tied for a note `start` quarters into its bar. LengthError where none fit."""
    return [sign for span in _cut(start, length, meter) for sign in _signs(span)]


def one_sign(length: Fraction) -> Sign | None:
    """The one sign that writes a length, or None where it takes several or has none."""
    try:
        signs = _signs(length)
    except LengthError:
        return None
    return signs[0] if len(signs) == 1 else None


def rest_signs(start: Fraction, length: Fraction, meter: Meter) -> list[Sign]:
    """Signs for a silence, each on its own place in the bar."""
    signs: list[Sign] = []
    end = start + length
    while start < end:
        stop = min(end, _next_beat(start, meter))
        room = (stop if start % meter.beat else end) - start  # no rest hides a beat
        if _is_dyadic(start) and _is_dyadic(stop):
            fitting = (
                sign for sign in _rests(meter) if sign.length <= room and not start % sign.length
            )
            new = [next(fitting)]
        else:  # in the middle of a triplet
            new = _signs(stop - start)
        signs += new
        start += sum((each.length for each in new), Fraction(0))
    return signs


def _rests(meter: Meter) -> Iterator[Sign]:
    """Rests from the longest: plain ones, and in compound meters those of a beat or more."""
    for name, length in TYPES:
        dotted = length * 3 / 2
        if meter.is_compound and dotted >= meter.beat:
            yield Sign(dotted, name, 1)
        if not meter.is_compound or length < meter.beat:
            yield Sign(length, name)


def _cut(start: Fraction, length: Fraction, meter: Meter) -> list[Fraction]:
    """Where a note must be tied so that the beat stays in sight."""
    rest = _next_beat(start, meter) - start
    if meter.is_compound and _is_dyadic(length):
        if rest < meter.beat and rest < length:
            return [rest, *_cut(start + rest, length - rest, meter)]
        whole = length // meter.beat * meter.beat
        return [part for part in (whole, length - whole) if part]
    if len(_signs(length)) > 1 and rest < min(length, meter.beat) and _is_dyadic(rest):
        return [rest, length - rest]
    return [length]


def _next_beat(start: Fraction, meter: Meter) -> Fraction:
    return (start // meter.beat + 1) * meter.beat


def _signs(length: Fraction) -> list[Sign]:
    """The fewest signs, the longest first, with a dot at most."""
    odd = length.denominator
    while odd % 2 == 0:
        odd //= 2
    ratio = None if odd == 1 else (odd, 2 ** (odd.bit_length() - 1))
    stretch = Fraction(*ratio) if ratio else Fraction(1)
    left, signs = length * stretch, []
    while left:
        written = next(
            (
                (name, dots, plain)
                for name, span in TYPES
                for dots, plain in ((1, span * 3 / 2), (0, span))
                if plain <= left
            ),
            None,
        )
        if written is None:
            raise LengthError(
                f"a note of {length} quarters is too short to be written; --no-sheet --no-page "
                "makes the tracks alone"
            )
        name, dots, plain = written
        signs.append(Sign(plain / stretch, name, dots, ratio))
        left -= plain
    return signs


def _is_dyadic(length: Fraction) -> bool:
    return length.denominator & (length.denominator - 1) == 0


def beams(events: Sequence[tuple[Fraction, Sign, bool]], meter: Meter) -> list[list[str]]:
    """Beam words of every event of a bar, level by level; an event is start, sign, whether a rest.

    Words are MusicXML's: begin, continue, end, forward hook, backward hook.
    """
    found: list[list[str]] = [[] for _ in events]
    for group in _groups(events, meter):
        flags = [events[number][1].flags for number in group]
        for place, number in enumerate(group):
            before = flags[place - 1] if place else 0
            after = flags[place + 1] if place + 1 < len(group) else 0
            found[number] = [
                _beam(level <= before, level <= after, first=not place)
                for level in range(1, flags[place] + 1)
            ]
    return found


def _beam(joined_before: bool, joined_after: bool, *, first: bool) -> str:
    if joined_before:
        return "continue" if joined_after else "end"
    return "begin" if joined_after else "forward hook" if first else "backward hook"


def _groups(events: Sequence[tuple[Fraction, Sign, bool]], meter: Meter) -> Iterator[list[int]]:
    """Runs of two or more flagged notes within one window of the meter."""
    windows = _windows(events, meter)
    run: list[int] = []
    for number, (start, sign, is_rest) in enumerate(events):
        window = sum(edge <= start for edge in windows)
        if run and (
            is_rest or not sign.flags or window != sum(e <= events[run[0]][0] for e in windows)
        ):
            if len(run) > 1:
                yield run
            run = []
        if sign.flags and not is_rest:
            run.append(number)
    if len(run) > 1:
        yield run


def _windows(events: Sequence[tuple[Fraction, Sign, bool]], meter: Meter) -> list[Fraction]:
    """Where beams must break: at beats; plain eighths run on over the half bar."""
    if meter.is_compound:
        return [meter.beat * number for number in range(meter.beats)]
    if meter.unit >= 8:  # twos, and a three at the end: 5/8, 7/8
        twos = range(0, max(1, meter.count - 1), 2)
        return [Fraction(4 * number, meter.unit) for number in twos]
    joined = BEATS_JOINED.get((meter.count, meter.unit), 1)
    edges: list[Fraction] = []
    for low in range(0, int(meter.bar), joined):
        inside = [sign for start, sign, _ in events if low <= start < low + joined]
        plain = all(sign == Sign(EIGHTH, "eighth") for sign in inside)
        edges += [Fraction(low + n) for n in (range(1) if plain else range(joined))]
    return edges
