"""Clefs as players read them: where they stand, and which one each bar is written in.

Common practice: a violist reads alto clef and treble clef where the music lies high, a cellist or
bassist bass, tenor and treble clef, a bassoonist or trombonist bass and tenor clef; all others
keep their own. Above the last of them strings and flute have an octave sign (8va).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache

from playalong.instrument.instruments import Instrument


@dataclass(frozen=True)
class Clef:
    """MusicXML's sign and line, and the diatonic index of the middle line."""

    sign: str
    line: int
    middle: int

    def lines_above(self, index: int) -> int:
        """Ledger lines above the staff that a note needs."""
        return max(0, (index - self.middle - 4) // 2)

    def lines_below(self, index: int) -> int:
        return max(0, (self.middle - 4 - index) // 2)


CLEFS = {
    "treble": Clef("G", 2, 34),
    "alto": Clef("C", 3, 28),
    "tenor": Clef("C", 4, 26),
    "bass": Clef("F", 4, 22),
}


@dataclass(frozen=True)
class Reading:
    """The clefs that a player reads, the usual one first, and what is read in it with ease."""

    clefs: tuple[str, ...]
    easy_above: int = 2  # ledger lines


READINGS = {
    "viola": Reading(("alto", "treble"), easy_above=3),
    "cello": Reading(("bass", "tenor", "treble")),
    "bass": Reading(("bass", "tenor", "treble")),
    "bassoon": Reading(("bass", "tenor")),
    "trombone": Reading(("bass", "tenor")),
}
EASY_BELOW = 1  # ledger lines, in any clef
# What reading costs: a further ledger line its square, for the average note of a bar; a bar in
# another clef than the usual one; a change of clef.
AWAY, CHANGE = 0.3, 0.75
OCTAVE_LINES = 4  # ledger lines, beyond which an octave sign stands
OCTAVE = 7  # letters


def clefs_of(instrument: Instrument, bars: Sequence[Sequence[int]]) -> list[Clef]:
    """The clef of each bar, of the diatonic indexes that are written in it.

    The ones that cost the reader least over the whole piece (Viterbi's algorithm, 1967).
    """
    reading = READINGS.get(instrument.name, Reading((instrument.clef,)))
    names = range(len(reading.clefs))
    costs, ways = [0.0 for _ in names], []  # so far, by the clef of the last bar
    for bar in bars:
        came = [
            min(names, key=lambda old: (costs[old] + CHANGE * (old != new), old)) for new in names
        ]
        ways.append(came)
        costs = [
            costs[old] + CHANGE * (old != new) + _cost(reading, new, tuple(bar))
            for new, old in enumerate(came)
        ]
    chosen = min(names, key=lambda name: costs[name])
    found = []
    for came in reversed(ways):
        found.append(CLEFS[reading.clefs[chosen]])
        chosen = came[chosen]
    return found[::-1]


@cache
def _cost(reading: Reading, which: int, bar: tuple[int, ...]) -> float:
    clef = CLEFS[reading.clefs[which]]
    beyond = [
        max(0, clef.lines_above(index) - reading.easy_above)
        + max(0, clef.lines_below(index) - EASY_BELOW)
        for index in bar
    ]
    return AWAY * which + sum(lines**2 for lines in beyond) / max(1, len(bar))


def octave_signs(instrument: Instrument, clef: Clef, bar: Sequence[int]) -> list[bool]:
    """Which notes of a bar, by their diatonic indexes, stand under an octave sign (8va).

    Around each that needs too many ledger lines go its neighbours that an octave lower would
    still stand on the upper half of the staff or above.
    """
    found = [False] * len(bar)
    if clef != CLEFS["treble"] or not (instrument.strings or instrument.name == "flute"):
        return found
    for start, index in enumerate(bar):
        if clef.lines_above(index) <= OCTAVE_LINES:
            continue
        for step in (1, -1):
            place = start
            while 0 <= place < len(bar) and bar[place] - OCTAVE >= clef.middle:
                found[place] = True
                place += step
    return found
