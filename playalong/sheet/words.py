"""The words around the music of a printed sheet, in plain terms of the trade."""

from __future__ import annotations

from playalong.music.pitch import pretty
from playalong.music.temperament import TEMPERAMENT_WORDS
from playalong.score.explanation import open_strings
from playalong.score.model import Score

STAGE_HEADING = "How to practise"
CAUTION_HEADING = "Please read"


def tuning_words(score: Score) -> str:
    """How the drill is tuned, and which open strings stand apart from the key."""
    tuning = score.drill.tuning
    told = [f"A4 = {tuning.a4_hz:g} Hz, {TEMPERAMENT_WORDS[tuning.temperament]}"]
    for string in open_strings(score):
        if string.apart:
            name = pretty(string.degree.name)[:-1]
            told.append(f"the open {string.name} string stands {string.apart} the key’s {name}")
    return "; ".join(told)
