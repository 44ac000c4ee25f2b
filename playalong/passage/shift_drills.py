"""Three drills for one shift of a passage: alone, in its rhythm, and growing into the passage."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from fractions import Fraction

from playalong.instrument.position import Position
from playalong.music.meter import Meter
from playalong.passage.drill_text import DrillText, WrittenBar
from playalong.passage.study import Shift
from playalong.passage.writer import Fingered, length_word, note_word

MORE_NOTES = (1, 2, 4)  # on each side, step by step
MOST_BARS = 8  # of the passage that a growing drill ends with
ALONE_BPM = (50, 60)
ALONE_METER = Meter(4, 4)


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
    grown = [bar for notes in steps for bar in fingered.bars(notes)]
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
    read, notes = fingered.board.instrument.as_written, fingered.line.notes
    return f"{read(notes[shift.old].pitch)} to {read(notes[shift.new].pitch)}"


def _alone(fingered: Fingered, shift: Shift) -> list[WrittenBar]:
    """The old note, its ghost where one leads, the new note; then without the ghost."""
    board, line = fingered.board, fingered.line
    old, new = (fingered.choices[each].way for each in (shift.old, shift.new))
    leave = [f"{old.string}:", f"{Position(old.position).written}:"]
    leave.append(note_word(board, line.notes[shift.old].pitch, old) + length_word(Fraction(2)))
    arrive = [f"{new.string}:"] if new.string != old.string else []
    target = note_word(board, line.notes[shift.new].pitch, new)
    place = f"{Position(new.position).written}:"
    travel = shift.travel
    if travel.ghost and travel.slides_onto_ghost:
        ghost = note_word(board, travel.ghost, old)
        first = [*leave, place, ghost, *arrive, target]
    else:
        first = [*leave, *arrive, place, target + length_word(Fraction(2))]
    second = [*leave, *arrive, place, target + length_word(Fraction(2))]
    return [WrittenBar(ALONE_METER, " ".join(words)) for words in (first, second)]


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
