"""The words around the music of a printed sheet, in plain terms of the trade."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import groupby, pairwise

from playalong.engraving.written_score import WrittenScore
from playalong.instrument.shift import NO_SHIFT
from playalong.music.pitch import pretty
from playalong.music.temperament import TEMPERAMENT_WORDS
from playalong.score.explanation import form_of, is_half_step, open_strings, turns
from playalong.score.model import Score

STAGE_HEADING = "How to practise"
READING_HEADING = "How to read it"
CAUTION_HEADING = "Please read"
HALF_STEPS = "A bracket over two notes is a half step."
SLIDES = "A line between two heads is a slide that is heard."
SLIDES_OVER_REPEATS = "Over a repeat sign a slide, with any ghost note, is told in words alone."
GHOSTS = (
    "A small head in parentheses is a ghost note: where the finger that leads stands at the other "
    "end of its slide, a help for the ear and not part of the tune."
)
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


def reading_words(sheets: Sequence[WrittenScore]) -> str:
    """What the signs on these sheets mean; those that none of them uses are passed over."""
    columns = zip(*map(_told, sheets), strict=True)
    return " ".join(words for words in (max(column) for column in columns) if words)


def _told(written: WrittenScore) -> tuple[str, ...]:
    """The words of each sign that is used, and empty ones of the others."""
    notes, passes = written.notes, written.score.drill.passes
    read = written.instrument.as_written
    told = [note.arrival for note in notes if note.arrival and note.is_landing]
    parts = (
        (MELODIC, any(form_of(written.score.key_of(note), read(note.pitch)) for note in notes)),
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


def tuning_words(score: Score) -> str:
    """How the drill is tuned, and which open strings stand apart from the key."""
    tuning = score.drill.tuning
    told = [f"A4 = {tuning.a4_hz:g} Hz, {TEMPERAMENT_WORDS[tuning.temperament]}"]
    for string in open_strings(score):
        if string.apart:
            name = pretty(string.degree.name)[:-1]
            told.append(f"the open {string.name} string stands {string.apart} the key’s {name}")
    return "; ".join(told)
