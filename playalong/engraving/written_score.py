"""Score -> what stands on paper: bars with notes, rests and ghost notes, one pass of each place.

Both the MusicXML and the engraving are made from these bars, so the two cannot disagree.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction

from playalong.engraving.lengths import Sign, note_signs, rest_signs
from playalong.instrument.instruments import Instrument
from playalong.instrument.shift import FROM_GHOST, GHOST_SHARE, ONTO_GHOST
from playalong.music.meter import Meter
from playalong.music.pitch import Pitch
from playalong.score.model import Note, Score

# Middle line of each clef as a diatonic index, and its MusicXML sign and line.
CLEFS = {"treble": ("G", 2, 34), "alto": ("C", 3, 28), "tenor": ("C", 4, 26), "bass": ("F", 4, 22)}
HIGHER_CLEFS = {"bass": ("bass", "tenor", "treble"), "alto": ("alto", "treble")}
LEDGER_LINES = 4  # above the staff, before a higher clef reads better
LOW_LEDGER_LINES = 3  # below the staff, at most, in that clef


@dataclass(frozen=True)
class Ghost:
    """A ghost note: a small head in parentheses, in the time of the note that is left."""

    number: int  # of the note that it leads to
    start: Fraction  # quarters from the bar line
    length: Fraction
    pitch: Pitch  # sounding
    finger: int
    string: str
    slide_from_note: bool  # the slide ends here; else it begins here

    @property
    def id(self) -> str:
        return f"g{self.number}"


@dataclass(frozen=True)
class Written:
    """One sign of voice 1. A note tied on has further signs with the same number."""

    start: Fraction  # quarters from the bar line
    sign: Sign
    note: Note | None = None  # None for a rest
    number: int = -1  # of the note in the sheet, from 0
    piece: int = 0  # from 1 on, tied to the one before
    tied_on: bool = False  # to the next piece

    @property
    def id(self) -> str:
        return f"n{self.number}" + (f"-{self.piece}" if self.piece else "")


@dataclass(frozen=True)
class Bar:
    number: int | None  # None for a bar of click between passes
    first: bool  # of its place
    last: bool
    signs: tuple[Written, ...]
    ghosts: tuple[Ghost, ...] = ()

    @property
    def is_silent(self) -> bool:
        return all(sign.note is None for sign in self.signs)


@dataclass(frozen=True)
class Paper:
    """One key and string of a drill as it is written down."""

    score: Score
    notes: tuple[Note, ...]  # first pass of every place
    bars: tuple[Bar, ...]
    clef: str
    slides: frozenset[int]  # numbers of the notes that a drawn slide leads to

    @property
    def octave_clef(self) -> bool:
        """A treble clef with a small 8 below: it sounds as it is named."""
        return self.instrument.octaves < 0 and self.instrument.clef == "treble"

    @property
    def instrument(self) -> Instrument:
        return self.score.drill.instrument

    def as_written(self, pitch: Pitch) -> Pitch:
        """A sounding pitch where it stands on the staff."""
        return self.instrument.as_written(pitch)


def write_down(score: Score, *, between_places: bool = True) -> Paper:
    """The written bars of a score. LengthError for a note too short to be written.

    Without `between_places` nothing leads across the repeats: no slide and no ghost note there.
    """
    notes = score.notes
    crosses = not between_places and score.drill.passes > 1
    slides = frozenset(
        number
        for number, note in enumerate(notes)
        if number and note.heard and not (crosses and notes[number - 1].stand != note.stand)
    )
    bars = tuple(_bars(score, notes, slides))
    return Paper(score, notes, bars, _clef(score), slides)


def _bars(score: Score, notes: tuple[Note, ...], slides: frozenset[int]) -> Iterator[Bar]:
    drill, meter = score.drill, score.drill.meter
    count, stands = len(drill.pattern.bars), len(score.climb)
    numbered = list(enumerate(notes))
    ghosts = list(_ghosts(score, notes, slides))
    for number in range(1, stands * count + 1):
        here = [(n, note) for n, note in numbered if note.bar == number]
        last = number % count == 0
        ends = number == stands * count and drill.passes == 1
        gap = drill.gap if last and not ends else 0  # bars of click before what follows
        yield Bar(
            number,
            first=(number - 1) % count == 0,
            last=last and not gap,
            signs=tuple(_signs(here, meter)),
            ghosts=tuple(ghost for bar, ghost in ghosts if bar == number),
        )
        for each in range(gap):
            rest = tuple(_signs([], meter))
            yield Bar(None, first=False, last=each == gap - 1, signs=rest)


def _signs(notes: list[tuple[int, Note]], meter: Meter) -> Iterator[Written]:
    at = Fraction(0)
    for number, note in notes:
        start = note.beat * meter.beat
        yield from _rests(at, start - at, meter)
        at = start
        signs = note_signs(start, note.length, meter)
        for place, sign in enumerate(signs):
            yield Written(at, sign, note, number, place, place < len(signs) - 1)
            at += sign.length
    yield from _rests(at, meter.bar - at, meter)


def _rests(at: Fraction, length: Fraction, meter: Meter) -> Iterator[Written]:
    for sign in rest_signs(at, length, meter):
        yield Written(at, sign)
        at += sign.length


def _ghosts(
    score: Score, notes: tuple[Note, ...], slides: frozenset[int]
) -> Iterator[tuple[int, Ghost]]:
    """Every heard ghost note with the number of the bar that it stands in."""
    for number in sorted(slides):
        travel, old = notes[number].arrival, notes[number - 1]
        if travel is None or travel.kind not in ONTO_GHOST | FROM_GHOST:
            continue
        if travel.ghost is None or travel.finger is None or travel.string is None:
            continue
        length = old.length * GHOST_SHARE
        start = old.beat * score.drill.meter.beat + old.length - length
        late = travel.kind in ONTO_GHOST
        yield (
            old.bar,
            Ghost(number, start, length, travel.ghost, travel.finger, travel.string, late),
        )


def _clef(score: Score) -> str:
    """The instrument's clef, or the next higher one that saves ledger lines."""
    drill = score.drill
    indexes = [drill.instrument.as_written(note.pitch).index for note in score.notes]
    own = drill.instrument.clef
    for clef in HIGHER_CLEFS.get(own, (own,)):
        middle = CLEFS[clef][2]
        if min(indexes) < middle - 5 - 2 * LOW_LEDGER_LINES:
            break
        own = clef
        if max(indexes) <= middle + 5 + 2 * LEDGER_LINES:
            break
    return own
