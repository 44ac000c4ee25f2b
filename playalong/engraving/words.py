"""Words at the music, in plain terms of the trade: titles, positions, shifts, repeated bars."""

from __future__ import annotations

from collections.abc import Sequence

from playalong.drill.model import Drill
from playalong.engraving.fonts import SMALL_MM, width_mm
from playalong.instrument.position import Position, ordinal
from playalong.instrument.shift import NO_SHIFT, Travel
from playalong.music.pitch import pretty
from playalong.score.explanation import Twin
from playalong.score.model import Score

Lines = Sequence[tuple[str, str]]  # texts under each other, and the cut of each
SIMILE = "simile"  # the bowing goes on as it is marked
_PLACES = {"": "", "n": "", "b": "lowered ", "#": "raised "}  # of a fixed place, by its mark


def score_title(score: Score) -> str:
    """`Viola, D string (III), B♭ major`; of a clarinet `…, G major (sounds F major)`."""
    return f"{instrument_title(score.drill)}, {place_words([score])}"


def instrument_title(drill: Drill) -> str:
    name = drill.instrument.full_name
    return pretty(name[0].upper() + name[1:])


def place_words(scores: Sequence[Score]) -> str:
    """`D string (III), D♭ major and B♭ minor`, of scores on one string."""
    string, instrument = scores[0].string, scores[0].instrument
    on = f"{string} string ({instrument.roman(string)}), " if string else ""
    return on + " and ".join(key_words(score) for score in scores)


def key_words(score: Score) -> str:
    """`G major (sounds F major)` of a clarinet in B flat; what is read, where the two agree."""
    sounding = score.board.sounding_key
    sounds = f" (sounds {sounding})" if sounding != score.key else ""
    return pretty(f"{score.key}{sounds}")


def position_words(position: Position, beside: str = "", *, short: bool = False) -> str:
    """`3rd position`, or `3rd pos.` where room is short; `thumb position (7th)`.

    With what stands beside the number: `2nd position (lower 2nd)`.
    """
    which = "half" if position.number == 0 else ordinal(position.number)
    word = "pos." if short else "position"
    if position.thumb:
        return f"thumb {word} ({_PLACES[position.mark]}{which})"
    return f"{which} {word} ({beside})" if beside else f"{_PLACES[position.mark]}{which} {word}"


def shift_words(travel: Travel) -> tuple[str, ...]:
    """Kind, and on a second line how far the hand travels, where that is known."""
    told = travel.told_mm
    return (travel.kind.value,) if told is None else (travel.kind.value, f"{told:.0f} mm")


def landing_words(travel: Travel) -> str:
    """`shift, old finger leads, 53 mm`; of what is no shift `slide, 12 mm`."""
    shift = () if travel.kind in NO_SHIFT else ("shift",)
    return ", ".join((*shift, *shift_words(travel)))


def widest_mm(lines: Lines) -> float:
    return max(width_mm(text, SMALL_MM, cut) for text, cut in lines)


def shift_lines(words: Sequence[str], *, narrow: bool = False) -> Lines:
    """The kind of a shift, over two lines where room is narrow, and its travel."""
    kind, *travel = words
    parts = kind.split(" ")
    folds = [(" ".join(parts[:n]), " ".join(parts[n:])) for n in range(1, len(parts))]
    halves = [[(half, "italic") for half in fold] for fold in folds]
    kinds = min(halves, key=widest_mm) if narrow and halves else [(kind, "italic")]
    return [*kinds, *((text, "regular") for text in travel)]


def twin_words(bar: int, twin: Twin) -> str:
    """`bar 2: as bar 1, an octave higher`."""
    return f"bar {bar}: {twin.words}"


def pass_words(passes: int) -> str:
    """`3×`, over a repeat."""
    return f"{passes}×"
