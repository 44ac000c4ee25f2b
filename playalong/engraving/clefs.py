"""Clefs: where they stand, and the one in which a score needs the fewest ledger lines."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from playalong.instrument.instruments import Instrument
from playalong.music.pitch import Pitch

LEDGER_LINES = 4  # above the staff, before a higher clef reads better
LOW_LEDGER_LINES = 3  # below the staff, at most, in that clef


@dataclass(frozen=True)
class Clef:
    """MusicXML's sign and line, and the diatonic index of the middle line."""

    sign: str
    line: int
    middle: int


CLEFS = {
    "treble": Clef("G", 2, 34),
    "alto": Clef("C", 3, 28),
    "tenor": Clef("C", 4, 26),
    "bass": Clef("F", 4, 22),
}
HIGHER_CLEFS = {"bass": ("tenor", "treble"), "alto": ("treble",)}  # in turn, as the music rises


def best_clef(instrument: Instrument, pitches: Iterable[Pitch]) -> Clef:
    """The instrument's clef for what it sounds, or the next higher one that saves ledger lines."""
    indexes = [instrument.as_written(pitch).index for pitch in pitches]
    low, high = min(indexes), max(indexes)
    chosen = CLEFS[instrument.clef]
    for name in HIGHER_CLEFS.get(instrument.clef, ()):
        clef = CLEFS[name]
        if high <= chosen.middle + 5 + 2 * LEDGER_LINES:
            break
        if low < clef.middle - 5 - 2 * LOW_LEDGER_LINES:
            break
        chosen = clef
    return chosen
