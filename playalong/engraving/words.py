"""The words of the sheet, in plain terms of the trade."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import groupby, pairwise

from playalong.drill.stage import Stage
from playalong.engraving.written import Paper
from playalong.instrument.shift import Travel
from playalong.music.pitch import pretty
from playalong.score.explanation import APART_CENTS, explain, is_half_step, turns
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
SHIFTS = "Under each shift stand its kind and how far the hand travels."
PASSES = (
    "{passes}× over a repeat: play the bars of that place {passes} times, one pass after another."
)
BOWS_TURN = "The bows turn round at each repeat; every place begins as marked."
TEMPERAMENTS = {
    "equal": "equal temperament",
    "pythagorean": "pure fifths",
    "just": "just intonation",
}
_ENDINGS = {1: "st", 2: "nd", 3: "rd"}


def ordinal(number: int) -> str:
    ending = "th" if 10 < number % 100 < 20 else _ENDINGS.get(number % 10, "th")
    return f"{number}{ending}"


def position_words(position: int) -> str:
    return "half position" if position == 0 else f"{ordinal(position)} position"


def short_position_words(position: int) -> str:
    return "half pos." if position == 0 else f"{ordinal(position)} pos."


def sheet_title(score: Score) -> str:
    """`Viola, D string (III), B♭ major`."""
    instrument = score.drill.instrument
    on = f", {score.string} string ({instrument.roman(score.string)})" if score.string else ""
    return f"{instrument.name.capitalize()}{on}, {pretty(score.key.name)}"


def shift_words(travel: Travel) -> tuple[str, str]:
    """Kind and travel, for two lines; the second is empty where no string is known."""
    told = travel.told_mm
    mm = "" if told is None else f"{told:.0f} mm"
    return travel.kind.value, mm


def twin_words(bar: int, twin: int, octaves: int) -> str:
    many = "an octave" if abs(octaves) == 1 else f"{abs(octaves)} octaves"
    return f"bar {bar}: as bar {twin}, {many} {'higher' if octaves > 0 else 'lower'}"


def pass_words(passes: int) -> str:
    return f"{passes}×"


def stage_lines(stages: tuple[Stage, ...]) -> Iterator[tuple[str, str]]:
    """Name and meaning of each stage, in the drill's order."""
    for stage in stages:
        yield stage.name, stage.words


def reading_words(paper: Paper) -> str:
    """What the signs on this sheet mean; those that it does not use are passed over."""
    notes, passes = paper.notes, paper.score.drill.passes
    parts = (
        (HALF_STEPS, any(is_half_step(one, two) for one, two in pairwise(notes))),
        (SLIDES, bool(paper.slides)),
        (GHOSTS, any(bar.ghosts for bar in paper.bars)),
        (SHIFTS, any(note.arrival and note.arrival.travel_mm for note in notes)),
        (SLIDES_OVER_REPEATS, _slides_over_repeats(paper)),
        (PASSES.format(passes=passes), passes > 1),
        (BOWS_TURN, _bows_turn(paper)),
    )
    return " ".join(words for words, used in parts if used)


def _slides_over_repeats(paper: Paper) -> bool:
    """Whether a heard slide leads back to a place's start, or on to the next, over a repeat."""
    notes = paper.notes
    on = any(notes[number].stand != notes[number - 1].stand for number in paper.slides)
    return paper.score.drill.passes > 1 and (on or any(turn.heard for turn in turns(paper.score)))


def _bows_turn(paper: Paper) -> bool:
    """Whether a pass has an odd number of bows, so that its repeat begins with the other one."""
    if paper.score.drill.passes < 2 or not paper.instrument.strings:
        return False
    places = groupby(paper.notes, key=lambda note: note.stand)
    return any(len({note.bow for note in place}) % 2 for _, place in places)


def tuning_words(score: Score) -> str:
    """How the drill is tuned, and which open strings stand apart from the key."""
    tuning = score.drill.tuning
    told = [f"A4 = {tuning.a4_hz:g} Hz, {TEMPERAMENTS[tuning.temperament]}"]
    for string in explain(score)["open_strings"]:
        apart = string["cents_from_key"]
        if not string["in_key"] or abs(apart) <= APART_CENTS:
            continue
        side = "above" if apart > 0 else "below"
        name = pretty(string["degree"])[:-1]
        told.append(
            f"the open {string['string']} string stands {abs(apart):.1f} cents {side} "
            f"the key’s {name}"
        )
    return "; ".join(told)
