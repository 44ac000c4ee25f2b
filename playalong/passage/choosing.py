"""Which part, and which of its bars: as a person asks for them."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace

from playalong.errors import short
from playalong.passage.model import Part, PartName, PassageError, ScoreBar

MOST_NAMED = 12
EARLIER_ENDINGS = "the endings before the one that is asked for"
START = "start"  # the last word of an ending that begins


def choose_part(names: Sequence[PartName], asked: str | None) -> PartName:
    """The part of a name or number, or the only one. PassageError lists what there is."""
    if not names:
        raise PassageError("the score has no part with notes in it")
    listed = ", ".join(short(str(each)) for each in names[:MOST_NAMED])
    listed += ", …" if len(names) > MOST_NAMED else ""
    if asked is None:
        if len(names) == 1:
            return names[0]
        raise PassageError(f"the score has {len(names)} parts; say which with --part: {listed}")
    word = asked.strip().casefold()
    found = [each for each in names if word == each.name.casefold()]
    found = found or [each for each in names if word == str(each.number)]
    found = found or [each for each in names if word and word in each.name.casefold()]
    if len(found) == 1:
        return found[0]
    what = "several parts are" if found else "no part is"
    raise PassageError(f'{what} called "{short(asked)}"; the parts are {listed}')


def choose_bars(part: Part, asked: str | None) -> tuple[ScoreBar, ...]:
    """The bars from one printed number to another, `12-15`.

    `12.2` is the second bar that is called 12, or stands for it in a second ending; a range that
    ends there leaves out the endings before. The two parts of a bar that a repeat splits are made
    one, and the tempo is that which holds.
    """
    bars = part.bars
    if asked is None:
        return tuple(_joined(bars))
    words = re.fullmatch(r"\s*([^\s-]+)\s*(?:[-–]\s*([^\s-]+)\s*)?", asked)
    if words is None:
        raise PassageError(f'--bars: "{short(asked)}" is not like 12 or 12-15')
    start = _place(bars, words[1], 0)
    end = _place(bars, words[2], start) if words[2] else start
    if end < start:
        raise PassageError(f'--bars: "{short(asked)}" runs backwards')
    while end + 1 < len(bars) and bars[end + 1].is_implicit and _complete(bars[end : end + 2]):
        end += 1
    chosen = list(bars[start : end + 1])
    if "." in (words[2] or ""):
        chosen = _last_time(bars, start, end)
    tempo = next((bar.tempo for bar in reversed(bars[: start + 1]) if bar.tempo), None)
    return tuple(_joined([replace(chosen[0], tempo=tempo), *chosen[1:]]))


def _place(bars: Sequence[ScoreBar], asked: str, at_least: int) -> int:
    """Where a bar stands; of several with its number the first from a place on."""
    places = [place for place, bar in enumerate(bars) if bar.number == asked]
    number, dot, which = asked.rpartition(".")
    if not places and dot and re.fullmatch("[1-9][0-9]?", which):
        places = [place for place, bar in enumerate(bars) if bar.number == number]
        place = _other_ending(bars, places, int(which))
        if place is not None:
            return place
        if len(places) < int(which):
            raise PassageError(
                f'--bars: "{short(asked)}": {len(places) or "no"} bars are called {short(number)}'
            )
        return places[int(which) - 1]
    if not places:
        span = f"{bars[0].number} to {bars[-1].number}"
        raise PassageError(f'--bars: no bar is called "{short(asked)}"; they go from {span}')
    return next((place for place in places if place >= at_least), places[-1])


def _endings(bars: Sequence[ScoreBar]) -> list[list[int]]:
    """Where the endings of each repeat begin."""
    found: list[list[int]] = []
    for place, bar in enumerate(bars):
        for ending in bar.endings:
            if not ending.endswith(START):
                continue
            before = bars[place - 1] if place else bar
            follows = "backward" in before.repeats or any(
                not each.endswith(START) for each in before.endings
            )
            if found and follows and not ending.startswith("1"):
                found[-1].append(place)
            else:
                found.append([place])
    return found


def _other_ending(bars: Sequence[ScoreBar], places: Sequence[int], which: int) -> int | None:
    """What stands for the only bar of a number in an ending after its own."""
    for starts in _endings(bars) if len(places) == 1 else ():
        if 2 <= which <= len(starts) and starts[0] <= places[0] < starts[1]:
            place = starts[which - 1] + places[0] - starts[0]
            return place if place < len(bars) else None
    return None


def _last_time(bars: Sequence[ScoreBar], start: int, end: int) -> list[ScoreBar]:
    """The bars of a range that ends in a later ending, without the endings before that."""
    for starts in _endings(bars):
        last = max((each for each in starts if each <= end), default=end)
        if start < starts[0] < last:
            later = replace(bars[last], told=(*bars[last].told, EARLIER_ENDINGS))
            return [*bars[start : starts[0]], later, *bars[last + 1 : end + 1]]
    return list(bars[start : end + 1])


def _joined(bars: Sequence[ScoreBar]) -> list[ScoreBar]:
    """Bars that are split, by a repeat or a line's end, made whole."""
    found: list[ScoreBar] = []
    for bar in bars:
        if found and _complete((found[-1], bar)):
            found[-1] = _one(found[-1], bar)
        else:
            found.append(bar)
    return found


def _complete(bars: Sequence[ScoreBar]) -> bool:
    """Whether two bars fill one together."""
    first, rest = bars
    meter, lengths = first.meter, (first.length, rest.length)
    return (
        meter is not None
        and meter == rest.meter
        and 0 not in lengths
        and not any(each.endswith(START) for each in rest.endings)
        and (sum(lengths) == meter.bar)
    )


def _one(first: ScoreBar, rest: ScoreBar) -> ScoreBar:
    later = tuple(replace(note, at=note.at + first.length) for note in rest.notes)
    own_number = not rest.is_implicit and rest.number != first.number
    return replace(
        first,
        number=f"{first.number}+{rest.number}" if own_number else first.number,
        length=first.length + rest.length,
        notes=first.notes + later,
        repeats=first.repeats + rest.repeats,
        endings=first.endings + rest.endings,
        words=first.words + rest.words,
        told=first.told + rest.told,
        fault=first.fault or rest.fault,
    )
