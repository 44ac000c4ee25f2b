"""How to read the signs in the lines of music, in plain terms of the trade."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import groupby, pairwise

from playalong.engraving.written_score import WrittenScore
from playalong.instrument.position import THUMB
from playalong.instrument.shift import NO_SHIFT
from playalong.score.explanation import form_of, is_half_step, turns

READING_HEADING = "How to read it"
HALF_STEPS = "A bracket over two notes is a half step."
SLIDES = "A line between two heads is a slide that is heard."
SLIDES_OVER_REPEATS = (
    "Where a slide crosses a repeat sign, words alone tell it: no line or ghost note is drawn."
)
GHOSTS = (
    "A small head in parentheses is a ghost note: where the finger that leads stands at the other "
    "end of its slide, a help for the ear and not part of the tune."
)
THUMB_SIGN = "A ring with a stroke below it is the thumb, also called T."
HARMONIC_SIGN = "A ring over a finger is a harmonic: the finger only touches the string."
MELODIC = (
    "In melodic minor the sixth and seventh degrees are raised where the line goes up, and as the "
    "signature has them where it goes down."
)
SHIFTS = "Under each shift stand its kind and how far the hand travels."
SLIDE_LENGTHS = "Under a slide without a shift stands how far it goes along the string."
PASSES = "{passes}× over a repeat: {passes} passes of these bars, one after another."
BOWS_CHANGE = (
    "A pass has an odd number of bows, so the next begins with the opposite bow; every starting "
    "position begins as marked."
)


def reading_words(sheets: Sequence[WrittenScore]) -> list[str]:
    """What the signs of this music mean, in sentences; those that are not used are passed over."""
    columns = zip(*map(_told, sheets), strict=True)
    return [words for words in (max(column) for column in columns) if words]


def _told(written: WrittenScore) -> tuple[str, ...]:
    """The words of each sign that is used, and empty ones of the others."""
    notes, passes = written.notes, written.score.drill.passes
    read = written.instrument.as_written
    told = [note.arrival for note in notes if note.arrival and note.is_landing]
    parts = (
        (MELODIC, any(form_of(written.score.key_of(note), read(note.pitch)) for note in notes)),
        (THUMB_SIGN, any(note.finger == THUMB for note in notes)),
        (HARMONIC_SIGN, any(note.touched for note in notes)),
        (HALF_STEPS, any(is_half_step(one, two) for one, two in pairwise(notes))),
        (SLIDES, bool(written.slides)),
        (GHOSTS, any(bar.ghosts for bar in written.bars)),
        (SHIFTS, any(travel.kind not in NO_SHIFT for travel in told)),
        (SLIDE_LENGTHS, any(travel.kind in NO_SHIFT and travel.told_mm for travel in told)),
        (SLIDES_OVER_REPEATS, passes > 1 and _slides_over_repeats(written)),
        (PASSES.format(passes=passes), passes > 1),
        (BOWS_CHANGE, passes > 1 and _bows_change(written)),
    )
    return tuple(words if used else "" for words, used in parts)


def _slides_over_repeats(written: WrittenScore) -> bool:
    """Whether a heard slide leads back to a starting position, or on to the next one."""
    notes = written.notes
    on = any(notes[number].stand != notes[number - 1].stand for number in written.slides)
    return on or any(turn.heard for turn in turns(written.score))


def _bows_change(written: WrittenScore) -> bool:
    """Whether a pass has an odd number of bows, so that its repeat begins with the other one."""
    if not written.instrument.strings:
        return False
    stands = groupby(written.notes, key=lambda note: note.stand)
    return any(len({note.bow for note in stand}) % 2 for _, stand in stands)
