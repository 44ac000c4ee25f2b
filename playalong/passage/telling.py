"""What a passage tells of itself: comments in its files, and lines for the person."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from itertools import groupby

from playalong.errors import short
from playalong.instrument.position import finger_name
from playalong.instrument.shift import Kind
from playalong.passage.line import LineNote
from playalong.passage.model import Part, ScoreBar
from playalong.passage.study import Shift
from playalong.passage.ways import OPEN_STRING, Way
from playalong.passage.writer import Fingered

MOST_DOUBTS = 24
MOST_CHANGES = 8


def fingering_comments(
    file: str, part: Part, fingered: Fingered, told: tuple[str, ...]
) -> tuple[str, ...]:
    """What stands above the settings of the passage."""
    kept = list(_kept(fingered))
    doubts = list(_doubts(fingered))
    called = f" ({short(part.name.name)})" if part.name.name else ""
    return (
        f"From {short(file)}, part {part.name.number}{called}, {_bars(fingered)}",
        "Change any string, position or finger below: what stands there is what will be played.",
        f"Fingers that the score gives: {', '.join(kept)}."
        if kept
        else "The score gives no fingers; all of them are chosen.",
        *(["Another way costs nearly the same:"] if doubts else []),
        *(f"  {each}" for each in doubts[:MOST_DOUBTS]),
        *([f"  and {len(doubts) - MOST_DOUBTS} more"] if len(doubts) > MOST_DOUBTS else []),
        *(["Left out, or done otherwise than printed:"] if told else []),
        *(f"  {each}" for each in told),
    )


def _bars(fingered: Fingered) -> str:
    """Which bars they are; one by one where the drill cannot count them as the score does."""
    numbers = [bar.number for bar in fingered.line.bars]
    if fingered.first_bar() is not None:
        return (
            f"bar{'s' * (len(numbers) > 1)} {'-'.join(dict.fromkeys((numbers[0], numbers[-1])))}."
        )
    here = "the upbeat first" if fingered.upbeat else "counted from 1"
    return f"whose bars are here ({here}): {', '.join(numbers)}."


def shift_comments(fingered: Fingered, shift: Shift, passage: str) -> tuple[str, ...]:
    """What stands above the settings of a shift's drills."""
    parts = ", ".join(f"{name} {weight:.1f}" for name, weight in shift.difficulty.items())
    return (
        f"A shift of {passage}: {shift_words(fingered, shift)}.",
        f"Difficulty {shift.total:.1f} ({parts}).",
    )


def shift_words(fingered: Fingered, shift: Shift) -> str:
    """`bar 12, A4 (1) to D5 (2), old finger leads, ghost note C5, 53 mm`."""
    line, travel = fingered.line, shift.travel
    old, new = (
        f"{_pitch(fingered, line.notes[each])} ({finger_name(fingered.choices[each].way.finger)})"
        for each in (shift.old, shift.new)
    )
    words = [f"bar {line.bar_of(line.notes[shift.new])}", f"{old} to {new}"]
    words.append("over an open string or a rest" if travel.kind is Kind.UNHEARD else travel.kind)
    if travel.ghost:
        words.append(f"ghost note {fingered.instrument.as_written(travel.ghost)}")
    return ", ".join((*words, f"{travel.told_mm or 0:.0f} mm"))


def _kept(fingered: Fingered) -> Iterator[str]:
    line = fingered.line
    for note, choice in zip(line.notes, fingered.choices, strict=True):
        if choice.is_kept:
            yield f"bar {line.bar_of(note)} {_pitch(fingered, note)} ({choice.way.finger})"


def _doubts(fingered: Fingered) -> Iterator[str]:
    """Where another way costs nearly the same, note by note; a note that comes again is not told
    again in its bar."""
    line, told = fingered.line, set[tuple[str, str]]()
    for note, choice in zip(line.notes, fingered.choices, strict=True):
        if choice.other is None:
            continue
        words = f"{_pitch(fingered, note)}: {_way(choice.other)} in place of {_way(choice.way)}"
        if (line.bar_of(note), words) not in told:
            told.add((line.bar_of(note), words))
            yield f"bar {line.bar_of(note)}, {words}"


def _pitch(fingered: Fingered, note: LineNote) -> str:
    return str(fingered.instrument.as_written(note.pitch))


def _way(way: Way) -> str:
    if way.finger == OPEN_STRING:
        return f"the open {way.string} string"
    return f"{finger_name(way.finger)} in {way.position.words} on the {way.string} string"


def summary_words(fingered: Fingered, shifts: int) -> str:
    """`32 notes in G major, 4/4; 3 fingers are the score's; 5 shifts.`"""
    kept = sum(choice.is_kept for choice in fingered.choices)
    whose = {0: "all fingers are chosen", 1: "1 finger is the score's"}
    said = whose.get(kept, f"{kept} fingers are the score's")
    notes = len(fingered.choices)
    keys = ", ".join(dict.fromkeys(board.key.name for board in fingered.boards))
    meters = ", ".join(dict.fromkeys(map(str, fingered.meters)))
    plural = "" if shifts == 1 else "s"
    return f"{notes} notes in {keys}, {meters}; {said}; {shifts or 'no'} shift{plural}."


def part_row(part: Part) -> tuple[str, str, str, str]:
    """A part as a list tells it: its number and name, its bars, signatures and meters."""
    first, last = part.bars[0].number, part.bars[-1].number
    signatures = _changes(part, lambda bar: _signature(bar.signature))
    meters = _changes(part, lambda bar: str(bar.meter or bar.meter_words))
    return short(str(part.name)), f"{first}-{last}", signatures, meters


def unreadable(part: Part) -> Iterator[str]:
    """Bar by bar, what a passage of others does not mind."""
    return (
        f"part {short(str(part.name))}, bar {bar.number} cannot be read: {bar.fault}"
        for bar in part.bars
        if bar.fault
    )


def _changes(part: Part, words: Callable[[ScoreBar], str]) -> str:
    """`4/4, 3/4 from 17, 4/4 from 33`: what holds, and from which bar on."""
    starts = [next(group) for _, group in groupby(part.bars, words)]
    told = [words(starts[0]), *(f"{words(bar)} from {bar.number}" for bar in starts[1:])]
    return ", ".join(told[:MOST_CHANGES]) + ", …" * (len(told) > MOST_CHANGES)


def _signature(signs: int | None) -> str:
    """`2 sharps`."""
    if signs is None:
        return "none usual"
    kind = "sharp" if signs > 0 else "flat"
    return f"{abs(signs)} {kind}{'s' * (abs(signs) > 1)}" if signs else "no signs"
