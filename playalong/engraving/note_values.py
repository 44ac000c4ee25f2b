"""Note values: the signs that write a length, with dots, ties and tuplets.

A length whose denominator has an odd part d is written d in the time of the largest power of
two below d, as MusicXML's time-modification has it. In compound meters a note that hides a beat
is tied across it; rests show every beat (common practice).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from math import lcm

from playalong.errors import PlayalongError
from playalong.music.meter import Meter

NAMES = (
    "long", "breve", "whole", "half", "quarter", "eighth",
    "16th", "32nd", "64th", "128th", "256th", "512th", "1024th",
)  # fmt: skip
TYPES = tuple((name, Fraction(16, 2**power)) for power, name in enumerate(NAMES))  # quarters
FLAGS = {name: max(0, power - 4) for power, name in enumerate(NAMES)}


class LengthError(PlayalongError):
    """A length that notation has no sign for."""


@dataclass(frozen=True)
class NoteValue:
    """One note or rest sign: what it lasts in quarters; `ratio` is (notes, in the time of)."""

    length: Fraction
    type: str
    dots: int = 0
    ratio: tuple[int, int] | None = None

    @property
    def flags(self) -> int:
        return FLAGS[self.type]


GRACE_TYPES = ("eighth", "16th")  # one alone, and several


def grace_value(count: int) -> NoteValue:
    """The sign of each of so many grace notes in a row, which take no time."""
    return NoteValue(Fraction(0), GRACE_TYPES[count > 1])


# Without tuplets, the longest first, each dotted and plain.
VALUES = tuple(
    NoteValue(length, name, dots)
    for name, plain in TYPES
    for dots, length in ((1, plain * 3 / 2), (0, plain))
)


def note_values(start: Fraction, length: Fraction, meter: Meter) -> list[NoteValue]:
    """Values to be tied for a note `start` quarters into its bar. LengthError where none fit."""
    return [value for span in _cut(start, length, meter) for value in _fewest(span)]


def one_value(length: Fraction) -> NoteValue | None:
    """The one value that writes a length, or None where it takes several or has none."""
    try:
        values = _fewest(length)
    except LengthError:
        return None
    return values[0] if len(values) == 1 else None


def beat_value(meter: Meter) -> NoteValue:
    """The note that a tempo counts: dotted in compound meters."""
    [value] = _fewest(meter.beat)
    return value


def rest_values(start: Fraction, length: Fraction, meter: Meter) -> list[NoteValue]:
    """Values for a silence that begins `start` quarters into its bar."""
    values: list[NoteValue] = []
    end = start + length
    while start < end:
        stop = min(end, _next_beat(start, meter))
        room = (stop if start % meter.beat else end) - start  # no rest hides a beat
        if _is_dyadic(start) and _is_dyadic(stop):
            fitting = (
                value
                for value in VALUES
                if _is_rest(value, meter) and value.length <= room and not start % value.length
            )
            new = [next(fitting)]
        else:  # in the middle of a triplet
            new = _fewest(stop - start)
        values += new
        start += sum((each.length for each in new), Fraction(0))
    return values


def in_whole_tuplets(values: Sequence[NoteValue]) -> list[NoteValue]:
    """The same lengths, written as one tuplet where one holds all from a plain place to the next:
    three of nine sixteenths are no triplet's eighth among the others."""
    found, first = list(values), 0
    total = Fraction(0)
    for index, value in enumerate(values):
        if not total:
            first = index
        total += value.length
        if _is_dyadic(total):
            total = Fraction(0)
            group = values[first : index + 1]
            odd = lcm(*(_odd_part(each.length) for each in group))
            rewritten = [_in_tuplet(each.length, odd) for each in group]
            if len({each.ratio for each in group}) > 1 and all(rewritten):
                found[first : index + 1] = [each for each in rewritten if each]
    return found


def _in_tuplet(length: Fraction, odd: int) -> NoteValue | None:
    """One value of a tuplet of so many, where one holds it."""
    ratio = _ratio(odd)
    plain = length * Fraction(*ratio)
    sign = next((value for value in VALUES if value.length == plain), None)
    return sign and replace(sign, length=length, ratio=ratio)


def tuplet_brackets(values: Sequence[NoteValue]) -> list[list[str]]:
    """Where brackets over notes in the time of others start and stop, value by value.

    One stops as soon as what it holds fills a plain length.
    """
    found: list[list[str]] = [[] for _ in values]
    total = Fraction(0)
    for index, value in enumerate(values):
        if not value.ratio:
            continue
        if not index or values[index - 1].ratio != value.ratio or "stop" in found[index - 1]:
            total = Fraction(0)
            found[index].append("start")
        total += value.length
        if _is_dyadic(total) or index + 1 == len(values) or values[index + 1].ratio != value.ratio:
            found[index].append("stop")
    return found


def _is_rest(value: NoteValue, meter: Meter) -> bool:
    """Rests are plain; in compound meters those of a beat or more are dotted."""
    return bool(value.dots) == (meter.is_compound and value.length >= meter.beat)


def _cut(start: Fraction, length: Fraction, meter: Meter) -> list[Fraction]:
    """Where a note must be tied so that the beat stays in sight."""
    to_beat = _next_beat(start, meter) - start
    if meter.is_compound and _is_dyadic(length):
        if to_beat < meter.beat and to_beat < length:
            return [to_beat, *_cut(start + to_beat, length - to_beat, meter)]
        whole = length // meter.beat * meter.beat
        return [span for span in (whole, length - whole) if span]
    if len(_fewest(length)) > 1 and to_beat < min(length, meter.beat) and _is_dyadic(to_beat):
        return [to_beat, length - to_beat]
    return [length]


def _next_beat(start: Fraction, meter: Meter) -> Fraction:
    return (start // meter.beat + 1) * meter.beat


def _fewest(length: Fraction) -> list[NoteValue]:
    """The fewest values, the longest first, with a dot at most."""
    odd = _odd_part(length)
    ratio = None if odd == 1 else _ratio(odd)
    stretch = Fraction(*ratio) if ratio else Fraction(1)
    left, values = length * stretch, []
    while left:
        longest = next((value for value in VALUES if value.length <= left), None)
        if longest is None:
            raise LengthError(
                f"a note of {length} quarters is too short to be written; --no-sheet --no-page "
                "makes the tracks alone"
            )
        values.append(NoteValue(longest.length / stretch, longest.type, longest.dots, ratio))
        left -= longest.length
    return values


def _ratio(odd: int) -> tuple[int, int]:
    return odd, 2 ** (odd.bit_length() - 1)


def _odd_part(length: Fraction) -> int:
    """Of its denominator: the tuplet that writes it."""
    return length.denominator // (length.denominator & -length.denominator)


def _is_dyadic(length: Fraction) -> bool:
    return _odd_part(length) == 1
