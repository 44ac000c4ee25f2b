"""Our choice of fingers against those that editions print.

    python tests/bench/fingers.py FOLDER     a checkout of github.com/MutopiaProject/MutopiaProject,
                         or a folder with the files of PIECES in it, under the same paths

Asked at each printed finger, of the highest head of a double stop. `chosen`: ours without any
given; `or told`: ours, or the other way that is told as nearly the same; `half given`: ours at
every second printed finger, the others given; `lowest`: the rule of the open string, else the
lowest position.
"""

from __future__ import annotations

import sys
from dataclasses import replace
from itertools import count
from pathlib import Path
from typing import NamedTuple

sys.path.insert(0, str(Path(__file__).parent))
from lilypond import bars_of

from playalong.instrument.catalogue import find_instrument
from playalong.instrument.fingerboard import Fingerboard
from playalong.music.temperament import Tuning
from playalong.passage.fingering import Choice, choose
from playalong.passage.keys import keys_of
from playalong.passage.line import TOP, Line, line_of
from playalong.passage.model import ScoreBar
from playalong.passage.ways import OPEN_STRING, Way, ways_of
from playalong.passage.wishes import Wishes

QUARTERS_A_MINUTE = 100


class Piece(NamedTuple):
    """Where it is, and what its typesetter lets us do with it."""

    name: str
    path: str
    music: str  # as the file calls it
    licence: str
    instrument: str = "violin"


SITT = "ftp/SittH/O32/Hans_Sitt-100_Etudes_Op32-Book1/Hans_Sitt-100_Etudes_Op32-Book1-lys"
RIEDING = "ftp/RiedingO/O35/rieding_opus_35/rieding_opus_35-lys/rieding_opus_35_violin.ly"
PAGANINI = "ftp/PaganiniN/O1/Caprice_2/Caprice_2-lys/Caprice_2_notes.ly"
PIECES = (
    Piece("Sitt, op. 32 no. 12", f"{SITT}/12.ly", "doze", "CC BY-SA 2.5"),
    Piece("Sitt, op. 32 no. 18", f"{SITT}/18.ly", "dezoito", "CC BY-SA 2.5"),
    Piece("Rieding, op. 35, first movement", RIEDING, "violinOne", "CC BY 3.0"),
    Piece("Rieding, op. 35, second movement", RIEDING, "violinTwo", "CC BY 3.0"),
    Piece("Paganini, op. 1 no. 2", PAGANINI, "capriceTwo", "CC BY-SA 3.0"),
)


class Agreement(NamedTuple):
    fingers: int
    chosen: int
    or_told: int
    halves: int  # asked, of those that are given for every second
    half_given: int
    lowest: int

    def __str__(self) -> str:
        shares = [each / self.fingers for each in (self.chosen, self.or_told, self.lowest)]
        shares.insert(2, self.half_given / max(self.halves, 1))
        return f"{self.fingers:5} fingers: " + ", ".join(f"{each:4.0%}" for each in shares)


def agreement(piece: Piece, folder: Path) -> Agreement:
    bars = bars_of((folder / piece.path).read_text(), piece.music)
    line = line_of(bars, TOP)
    keys, _ = keys_of(line, None)
    boards = {key: Fingerboard(find_instrument(piece.instrument), key, Tuning()) for key in keys}
    by_bar = [boards[key] for key in keys]

    def chosen(line: Line, wishes: Wishes) -> tuple[Choice, ...]:
        return choose(line, by_bar, wishes, QUARTERS_A_MINUTE)

    own = chosen(line, Wishes(own_fingers=True))
    asked = [number for number, note in enumerate(line.notes) if note.printed.fingers]
    half = asked[::2]
    given = chosen(line_of(_without(bars, line, half), TOP), Wishes())
    printed = {number: line.notes[number].printed.fingers for number in asked}
    rivals = {number: own[number].other for number in asked}
    return Agreement(
        len(asked),
        sum(own[number].way.finger in printed[number] for number in asked),
        sum(
            own[number].way.finger in printed[number]
            or ((other := rivals[number]) is not None and other.finger in printed[number])
            for number in asked
        ),
        len(half),
        sum(given[number].way.finger in printed[number] for number in half),
        sum(
            _lowest(by_bar[line.notes[number].bar], line, number).finger in printed[number]
            for number in asked
        ),
    )


def _without(bars: tuple[ScoreBar, ...], line: Line, numbers: list[int]) -> list[ScoreBar]:
    """The bars without the fingers of these notes of their line."""
    bare = {id(line.notes[number].printed) for number in numbers}
    return [
        replace(
            bar,
            notes=tuple(
                replace(note, fingers=()) if id(note) in bare else note for note in bar.notes
            ),
        )
        for bar in bars
    ]


def _lowest(board: Fingerboard, line: Line, number: int) -> Way:
    """The open string, else first position or the next above it, else half position."""
    order = count()

    def height(way: Way) -> tuple[bool, int, int, int]:
        position = way.position.number or 99
        return way.finger != OPEN_STRING, way.reach.value, position, next(order)

    return min(ways_of(board, line.notes[number].pitch, 12), key=height)


def main(folder: Path) -> None:
    print("fingers: chosen, chosen or told, half given, lowest")
    total = [0] * len(Agreement._fields)
    for piece in PIECES:
        found = agreement(piece, folder)
        total = [one + two for one, two in zip(total, found, strict=True)]
        print(f"{found}  {piece.name} ({piece.licence})")
    print(f"{Agreement(*total)}  all")


if __name__ == "__main__":
    main(Path(sys.argv[1]))
