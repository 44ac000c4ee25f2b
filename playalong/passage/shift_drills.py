"""Three drills for one shift of a passage: alone, in its rhythm, and growing into the passage."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from fractions import Fraction

from playalong.music.meter import Meter
from playalong.music.pitch import pretty
from playalong.passage.drill_text import DrillText, WrittenBar
from playalong.passage.study import Shift
from playalong.passage.writer import Fingered, length_word, note_word

MORE_NOTES = (1, 2, 4)  # on each side, step by step
MOST_BARS = 8  # of the passage that a growing drill ends with
ALONE_BPM = (50, 60)
ALONE_METER, HALF_METER = Meter(4, 4), Meter(2, 4)


def shift_drills(
    fingered: Fingered, shift: Shift, like: DrillText, comments: tuple[str, ...]
) -> Iterator[tuple[str, DrillText]]:
    """The three drills with their names; `like` is the passage's."""
    titled = f"{like.title}: {_told(fingered, shift)}"
    plain = replace(like, upbeat=Fraction(0), first_bar=1, comments=comments)
    yield (
        "alone",
        replace(
            plain,
            title=f"{titled}, alone",
            note="quarter",
            bars=_alone(fingered, shift),
            tempo=ALONE_BPM,
        ),
    )
    pair = _notes(fingered, shift.old, shift.new)
    yield (
        "in-rhythm",
        replace(
            plain,
            title=f"{titled}, in rhythm",
            bars=fingered.bars(pair),
            first_bar=fingered.first_bar(pair) or 1,
        ),
    )
    steps = list(_growing(fingered, shift))
    grown = [
        bar
        for notes in steps
        for *bars, last_bar in [fingered.bars(notes)]
        for bar in (*bars, last_bar._replace(ends_part=True))
    ]
    last = [fingered.line.bars[place].number for place in fingered.spanned(steps[-1])]
    ends = f"It ends as the passage: its last {len(last)} bars are bars {last[0]} to {last[-1]}."
    if len(last) == 1:
        ends = f"It ends as the passage: its last bar is bar {last[0]}."
    growing = replace(plain, title=f"{titled}, growing", bars=grown)
    yield "growing", replace(growing, comments=(*comments, ends))


def _notes(fingered: Fingered, first: int, last: int) -> range:
    """From one note to another, and on to the note that the last grace note leads to."""
    while fingered.line.notes[last].is_grace:
        last += 1
    return range(first, last + 1)


def _told(fingered: Fingered, shift: Shift) -> str:
    read, notes = fingered.instrument.as_written, fingered.line.notes
    old, new = (pretty(read(notes[each].pitch).name) for each in (shift.old, shift.new))
    return f"{old} to {new}"


def _alone(fingered: Fingered, shift: Shift) -> list[WrittenBar]:
    """The old note, its ghost where one leads, the new note; then, or only, without the ghost.

    Where the key changes between them, each stands in a bar of its own key.
    """
    line, travel = fingered.line, shift.travel
    old, new = (fingered.choices[each].way for each in (shift.old, shift.new))
    old_board, new_board = (fingered.board(each) for each in (shift.old, shift.new))
    half = length_word(Fraction(2))
    leave = f"{old.string}: {old.position.written}: "
    leave += note_word(old_board, line.notes[shift.old].pitch, old) + half
    cross = f"{new.string}: " if new.string != old.string else ""
    place = f"{new.position.written}: "
    target = note_word(new_board, line.notes[shift.new].pitch, new)
    arrive = led = f"{cross}{place}{target}{half}"
    if travel.ghost and travel.slides_onto_ghost:
        led = f"{place}{note_word(new_board, travel.ghost, old)} {cross}{target}"
    arrivals = dict.fromkeys((led, arrive))
    if old_board.key == new_board.key:
        return [WrittenBar(ALONE_METER, new_board.key, f"{leave} {then}") for then in arrivals]
    return [
        WrittenBar(HALF_METER, board.key, text)
        for then in arrivals
        for board, text in ((old_board, leave), (new_board, then))
    ]


def _growing(fingered: Fingered, shift: Shift) -> Iterator[range]:
    """Which notes are played, step by step; the last step is the passage, or its bars around."""
    line = fingered.line
    last, seen = len(line.notes) - 1, set[range]()
    first_bar = max(0, min(line.notes[shift.old].bar - MOST_BARS // 2, len(line.bars) - MOST_BARS))
    around = [
        number
        for number, note in enumerate(line.notes)
        if first_bar <= note.bar < first_bar + MOST_BARS
    ]
    whole = range(around[0], max(around[-1], shift.new) + 1)
    for more in MORE_NOTES:
        notes = _notes(fingered, max(shift.old - more, 0), min(shift.new + more, last))
        if notes not in seen and len(notes) < len(whole):
            seen.add(notes)
            yield notes
    yield whole
