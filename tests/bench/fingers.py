"""Our choice of fingers against those that editions print.

    python tests/bench/fingers.py FOLDER     a checkout of github.com/MutopiaProject/MutopiaProject,
                         or a folder with the files of PIECES in it, under the same paths
    python tests/bench/fingers.py FOLDER differ     where we differ, and how the hand would move if
                         it took all the printed fingers: of the pieces to tune on only

Pieces of an even number are held back: no weight is tuned on them. Asked at each printed finger, of
the highest head of a double stop. `chosen`: ours without any given; `or told`: ours, or the other
way that is told as nearly the same; `in three`: that of one of the three cheapest ways;
`half given`: ours at every second printed finger, the others given; `lowest` and `lowest three`:
the rule of the open string, else the lowest position.
"""

from __future__ import annotations

import sys
from collections import Counter
from dataclasses import replace
from itertools import count, pairwise
from pathlib import Path
from typing import NamedTuple

sys.path.insert(0, str(Path(__file__).parent))
from lilypond import bars_of

from playalong.instrument.catalogue import find_instrument
from playalong.instrument.fingerboard import Fingerboard
from playalong.music.temperament import Tuning
from playalong.passage.fingering import Choice, choose, ranked
from playalong.passage.keys import keys_of
from playalong.passage.line import TOP, Line, line_of
from playalong.passage.model import ScoreBar
from playalong.passage.ways import OPEN_STRING, Reach, Way, ways_of
from playalong.passage.wishes import Wishes

QUARTERS_A_MINUTE = 100


class Piece(NamedTuple):
    """Where it is, and what its typesetter lets us do with it."""

    name: str
    number: int
    path: str
    music: str  # as the file calls it
    licence: str
    section: int = 0  # where the meter changes
    instrument: str = "violin"

    @property
    def held_back(self) -> bool:
        return self.number % 2 == 0


SITT = "ftp/SittH/O32/Hans_Sitt-100_Etudes_Op32-Book1/Hans_Sitt-100_Etudes_Op32-Book1-lys"
RIEDING = "ftp/RiedingO/O35/rieding_opus_35/rieding_opus_35-lys/rieding_opus_35_violin.ly"
CAPRICE = "ftp/PaganiniN/O1/Caprice_{0}/Caprice_{0}-lys/Caprice_{0}_notes.ly"
PIECES = (
    *(
        Piece("Sitt, op. 32 no.", number, f"{SITT}/{number}.ly", music, "CC BY-SA 2.5")
        for number, music in (
            (12, "doze"),
            (17, "dezessete"),
            (18, "dezoito"),
            (19, "dezenove"),
            (20, "vinte"),
        )
    ),
    *(
        Piece("Rieding, op. 35, movement", number, RIEDING, music, "CC BY 3.0")
        for number, music in enumerate(("violinOne", "violinTwo", "violinThree"), 1)
    ),
    *(
        Piece("Paganini, op. 1 no.", number, CAPRICE.format(number), music, "CC BY-SA 3.0", section)
        for number, music, section in (
            (1, "capriceOne", 0),
            (2, "capriceTwo", 0),
            (3, "capriceThree", 1),  # its Presto; the rest is in octaves
        )
    ),
)


class Agreement(NamedTuple):
    fingers: int
    chosen: int
    or_told: int
    in_three: int
    halves: int  # asked, of those that are given for every second
    half_given: int
    lowest: int
    lowest_three: int

    def __str__(self) -> str:
        among = (self.chosen, self.or_told, self.in_three, self.lowest, self.lowest_three)
        shares = [each / self.fingers for each in among]
        shares.insert(3, self.half_given / max(self.halves, 1))
        return f"{self.fingers:5} fingers: " + ", ".join(f"{each:4.0%}" for each in shares)


class Read(NamedTuple):
    """A piece as it is fingered."""

    bars: tuple[ScoreBar, ...]
    line: Line
    boards: list[Fingerboard]  # of each bar
    asked: list[int]  # the notes with printed fingers

    def chosen(self, line: Line, *, own: bool) -> tuple[Choice, ...]:
        return choose(line, self.boards, Wishes(own_fingers=own), QUARTERS_A_MINUTE)


def read(piece: Piece, folder: Path) -> Read:
    bars = bars_of((folder / piece.path).read_text(), piece.music, piece.section)
    line = line_of(bars, TOP)
    keys, _ = keys_of(line, None)
    boards = {key: Fingerboard(find_instrument(piece.instrument), key, Tuning()) for key in keys}
    asked = [number for number, note in enumerate(line.notes) if note.printed.fingers]
    return Read(bars, line, [boards[key] for key in keys], asked)


def agreement(found: Read) -> Agreement:
    line, asked = found.line, found.asked
    own = found.chosen(line, own=True)
    ways = ranked(line, found.boards, Wishes(own_fingers=True), QUARTERS_A_MINUTE)
    half = asked[::2]
    given = found.chosen(line_of(_without(found.bars, line, half), TOP), own=False)
    lowest = {
        number: _lowest(found.boards[line.notes[number].bar], line, number) for number in asked
    }

    def agree(number: int, *ways: Way | None) -> bool:
        fingers = line.notes[number].printed.fingers
        return any(way is not None and way.finger in fingers for way in ways)

    return Agreement(
        len(asked),
        sum(agree(number, own[number].way) for number in asked),
        sum(agree(number, own[number].way, own[number].other) for number in asked),
        sum(agree(number, *ways[number][:3]) for number in asked),
        len(half),
        sum(agree(number, given[number].way) for number in half),
        sum(agree(number, lowest[number][0]) for number in asked),
        sum(agree(number, *lowest[number][:3]) for number in asked),
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


def _lowest(board: Fingerboard, line: Line, number: int) -> list[Way]:
    """The open string, else first position or the next above it, else half position; then those
    after it."""
    order = count()

    def height(way: Way) -> tuple[bool, int, int, int]:
        position = way.position.number or 99
        return way.finger != OPEN_STRING, way.reach.value, position, next(order)

    found = sorted(ways_of(board, line.notes[number].pitch, 12), key=height)
    is_open = [way for way in found if way.finger == OPEN_STRING]
    return is_open[:1] + [way for way in found if way.finger != OPEN_STRING]


def differ(found: Read) -> tuple[Counter[str], Counter[str], Counter[str]]:
    """How the printed way differs from ours, where it does; and what both hands do, ours and the
    one that takes all printed fingers."""
    ours, theirs = found.chosen(found.line, own=True), found.chosen(found.line, own=False)
    told = Counter[str]()
    for number in found.asked:
        own, printed = ours[number].way, theirs[number].way
        if own.finger not in found.line.notes[number].printed.fingers:
            told[_difference(own, printed)] += 1
    return told, _habits(found.line, ours), _habits(found.line, theirs)


def _difference(own: Way, printed: Way) -> str:
    if printed.finger == OPEN_STRING or own.finger == OPEN_STRING:
        return "open string" if printed.finger == OPEN_STRING else "no open string"
    if own.string_number != printed.string_number:
        return f"{'lower' if own.string_number < printed.string_number else 'higher'} string"
    height = (printed.position.number or 0) - (own.position.number or 0)
    if height:
        return f"{'higher' if height > 0 else 'lower'} on the string"
    return "another finger in the same position"


def _habits(line: Line, choices: tuple[Choice, ...]) -> Counter[str]:
    found = Counter(notes=len(choices))
    for choice in choices:
        way = choice.way
        found["open strings"] += way.finger == OPEN_STRING
        if way.finger != OPEN_STRING:
            found[f"in position {way.position}"] += 1
            found["reaches"] += way.reach == Reach.EXTENDED
    for (one, _), (two, note) in pairwise(zip(choices, line.notes, strict=True)):
        old, new = one.way, two.way
        moves = old.position != new.position
        found["strings crossed"] += old.string != new.string
        found["shifts"] += moves
        found["shifts by one position"] += moves and abs(old.place.height - new.place.height) == 1
        found["shifts on the beat"] += moves and note.printed.at.denominator == 1
        if old.string != new.string and old.finger == new.finger != OPEN_STRING:
            found["one finger hops"] += 1
            found["one finger hops to another place"] += old.semitones != new.semitones
    return found


def main(folder: Path) -> None:
    print("fingers: chosen, or told, in three, half given, lowest, lowest three")
    for held_back in (False, True):
        total = [0] * len(Agreement._fields)
        for piece in PIECES:
            if piece.held_back != held_back:
                continue
            found = agreement(read(piece, folder))
            total = [one + two for one, two in zip(total, found, strict=True)]
            print(f"{found}  {piece.name} {piece.number} ({piece.licence})")
        print(f"{Agreement(*total)}  all {'held back' if held_back else 'to tune on'}\n")


def main_differ(folder: Path) -> None:
    for piece in PIECES:
        if piece.held_back:
            continue
        found = read(piece, folder)
        told, ours, theirs = differ(found)
        print(f"{piece.name} {piece.number}: the edition has, of {len(found.asked)} fingers")
        for what, many in told.most_common():
            print(f"{many:6} {what}")
        print("   ours, with all fingers of the edition")
        for what in sorted(ours | theirs):
            print(f"{ours[what]:6} {theirs[what]:6} {what}")


if __name__ == "__main__":
    (main_differ if sys.argv[2:] == ["differ"] else main)(Path(sys.argv[1]))
