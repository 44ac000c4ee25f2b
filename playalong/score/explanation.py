"""explain: what the drill asks of the hand, bar by bar, as data.

Each bar of the climb with its notes and fingers, the steps between them, every shift with its
kind, ghost note, interval and the hand's travel; open strings that stand apart from the key; and
bars that repeat another an octave apart on the same letters, which is how players read ledger
lines.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict, dataclass, replace
from fractions import Fraction
from itertools import groupby, pairwise
from typing import Any, NamedTuple

from playalong.drill.stage import Stage
from playalong.instrument.shift import Travel, tenths
from playalong.music.interval import step_name
from playalong.music.key import Key
from playalong.music.pitch import Pitch
from playalong.music.temperament import cents
from playalong.score.model import Note, Score

FORMAT = "playalong explanation 1"
APART_CENTS = 0.5  # an open string nearer than this to its degree is told as in tune


@dataclass(frozen=True)
class Twin:
    """The bar that another repeats on the same letters, and how many octaves higher that one is."""

    bar: int
    octaves: int

    @property
    def words(self) -> str:
        """`as bar 1, an octave higher`."""
        octaves = abs(self.octaves)
        many = "an octave" if octaves == 1 else f"{octaves} octaves"
        return f"as bar {self.bar}, {many} {'higher' if self.octaves > 0 else 'lower'}"


@dataclass(frozen=True)
class OpenString:
    """An open string as it is tuned, against the key's own degree on its letter."""

    name: str
    pitch: Pitch
    degree: Pitch
    cents_from_key: float  # above the degree, to a tenth as it is told

    @property
    def in_key(self) -> bool:
        return self.degree == self.pitch

    @property
    def apart(self) -> str | None:
        """`21.5 cents above` the degree; None where it is not in the key, or in tune with it."""
        if not self.in_key or abs(self.cents_from_key) <= APART_CENTS:
            return None
        side = "above" if self.cents_from_key > 0 else "below"
        return f"{abs(self.cents_from_key):.1f} cents {side}"


def explain(score: Score) -> dict[str, Any]:
    """One key and string of a drill as plain data, ready for JSON. Lengths are in mm."""
    drill, twin = score.drill, twins(score)
    return {
        "format": FORMAT,
        "title": drill.title,
        "instrument": score.instrument.full_name,
        "string": score.string,
        "key": score.key.name,
        "sounding_key": score.board.sounding_key.name,
        "sounds": score.instrument.transposition.words,
        "meter": str(drill.meter),
        "bars": [
            {
                "bar": bar.number,
                "upbeat": bar.upbeat,
                "meter": str(score.bar_of(bar.notes[0]).meter),
                "key": score.key_of(bar.notes[0]).name,
                "notes": [_note(score, note) for note in bar.notes],
                "steps": [_step(one, two) for one, two in pairwise(bar.notes)],
                "shifts": [_shift(score, note) for note in bar.notes if note.arrival],
                "as_bar": asdict(twin[bar.number])
                if bar.number in twin and not bar.upbeat
                else None,
            }
            for bar in bars_of(score)
        ],
        "turns": [_shift(score, note) for note in turns(score)],
        "open_strings": [_open_string(score, string) for string in open_strings(score)],
        "warnings": list(score.warnings),
        "left_out": list(score.left_out),
    }


class NotesOfBar(NamedTuple):
    """The notes that begin in one bar."""

    number: int
    upbeat: bool
    notes: list[Note]

    @property
    def name(self) -> str:
        """`bar 2`, or `upbeat to bar 1`."""
        return f"{'upbeat to ' if self.upbeat else ''}bar {self.number}"


def bars_of(score: Score) -> list[NotesOfBar]:
    """One pass of every starting position, bar by bar; bars without an onset are passed over."""
    grouped = groupby(score.notes, key=lambda note: (note.bar, note.beat < 0))
    return [NotesOfBar(number, upbeat, list(notes)) for (number, upbeat), notes in grouped]


def turns(score: Score) -> list[Note]:
    """The note that another pass of each starting position begins with, where it is shifted to."""
    if score.drill.passes < 2:
        return []
    return [stand.again[0] for stand in score.climb if stand.again[0].arrival]


def is_half_step(one: Note, two: Note) -> bool:
    """Whether two notes in a row of one starting position stand a half step apart."""
    neighbours = one.stand == two.stand and one.end == two.start
    return neighbours and abs(one.pitch.key_number - two.pitch.key_number) == 1


def twins(score: Score) -> dict[int, Twin]:
    """Bars that repeat an earlier one, with the earliest such bar."""
    found: dict[int, Twin] = {}
    seen: dict[object, dict[int, int]] = {}  # by all but the octave: octave -> its first bar
    for bar in bars_of(score):
        if bar.upbeat:
            continue
        octave = bar.notes[0].pitch.octave
        alike = seen.setdefault(_without_octave(bar.notes, octave), {})
        earlier = next((each for each in alike if each != octave), None)
        if earlier is not None:
            found[bar.number] = Twin(alike[earlier], octave - earlier)
        alike.setdefault(octave, bar.number)
    return found


def open_strings(score: Score) -> list[OpenString]:
    """How far each open string stands from the key's own degree on its letter."""
    board = score.board
    found = []
    for name in board.instrument.string_names:
        string = board.instrument.string(name)
        degree = board.sounding_key.pitch(string.index)
        apart = round(cents(board.open_hz(name), board.hz(degree)), 1)
        found.append(OpenString(name, string, degree, apart))
    return found


def told_place_mm(score: Score, note: Note) -> float | None:
    """Where a note is stopped, from the nut, as everything that tells of it rounds it."""
    if not note.string or note.finger == 0:
        return None
    if note.touched:
        length_mm = score.drill.instrument.string_length_mm
        return round(length_mm * float(note.touched.node.share), 1)
    return round(score.board_of(note).place_mm(note.string, note.pitch), 1)


def stage_words(stage: Stage, scores: Sequence[Score]) -> str:
    """What a stage means for the player of these keys and strings of a drill."""
    slides, landings = set(), set()
    for score in scores:
        passes = stage.passes(score.drill.passes)
        slides.add(score.has_slides(passes))
        landings.add(score.has_landings(passes))
    manner = scores[0].instrument.manner
    return stage.told(slides=_agreed(slides), landings=_agreed(landings), manner=manner)


def _agreed(values: set[bool]) -> bool | None:
    return next(iter(values)) if len(values) == 1 else None


def _note(score: Score, note: Note) -> dict[str, Any]:
    read = score.instrument.as_written(note.pitch)
    return {
        "beat": float(note.beat),
        "grace": note.is_grace,
        "pitch": read.name,
        "sounds": note.pitch.name,
        "finger": note.finger,
        "string": note.string,
        "position": note.position_number,
        "position_name": note.position.name if note.position else None,
        **_named(score, note),
        "touches": note.touched.place.name if note.touched else None,
        "hz": round(note.hz, 3),
        "place_mm": told_place_mm(score, note),
        "form": form_of(score.key_of(note), read),
    }


def _named(score: Score, note: Note) -> dict[str, Any]:
    """What the schools call the hand, and whether it is extended `back` or `forward`."""
    named = score.named(note)
    return {"school_names": dict(named.schools), "extended": named.extended or None}


def form_of(key: Key, read: Pitch) -> str | None:
    """`rising` or `falling` for the degrees of which a key has two forms."""
    falls, rises = key.alteration(read.letter), key.rising.alteration(read.letter)
    forms = {falls: "falling", rises: "rising"} if falls != rises else {}
    return forms.get(read.alter)


def as_read(score: Score, note: Note) -> Note:
    """A note as its player reads it: what sounds, and whence its shift comes, in written pitch."""
    read = score.instrument.as_written
    heads = []
    for head in note.heads:
        travel = head.arrival
        if travel:
            ghost = read(travel.ghost) if travel.ghost else None
            travel = replace(travel, start=read(travel.start), end=read(travel.end), ghost=ghost)
        heads.append(replace(head, pitch=read(head.pitch), arrival=travel))
    return replace(note, heads=tuple(heads))


def step_words(one: Note, two: Note) -> str:
    """`half step`, or `same note`."""
    return "same note" if one.pitch == two.pitch else step_name(one.pitch, two.pitch)


def _step(one: Note, two: Note) -> dict[str, Any]:
    semitones = two.pitch.key_number - one.pitch.key_number
    return {
        "name": step_words(one, two),
        "semitones": semitones,
        "cents": round(cents(two.hz, one.hz), 1),
    }


def _shift(score: Score, note: Note) -> dict[str, Any]:
    note = as_read(score, note)
    travel = note.arrival
    if travel is None:
        raise ValueError(f"no shift arrives at {note.pitch} in bar {note.bar}")
    return {
        "bar": note.bar,
        "beat": float(note.beat),
        "kind": travel.kind.value,
        "to": note.pitch.name,
        "to_position": note.position_number,
        "finger": travel.finger,
        "from_place": travel.start.name,
        "to_place": travel.end.name,
        "ghost": travel.ghost.name if travel.ghost else None,
        "interval": step_name(travel.start, travel.end),
        "direction": direction(travel),
        "travel_mm": tenths(travel.travel_mm),
        "hand_travel_mm": tenths(travel.hand_travel_mm),
        "heard": note.heard,
    }


def direction(travel: Travel) -> str:
    up = travel.end.key_number - travel.start.key_number
    return "up" if up > 0 else "down" if up < 0 else "level"


def _open_string(score: Score, string: OpenString) -> dict[str, Any]:
    read = score.instrument.as_written
    return {
        "string": string.name,
        "pitch": read(string.pitch).name,
        "degree": read(string.degree).name,
        "in_key": string.in_key,
        "cents_from_key": string.cents_from_key,
    }


def _without_octave(notes: Sequence[Note], octave: int) -> tuple[tuple[Pitch, Fraction], ...]:
    """The notes so many octaves lower, each with its beat."""
    return tuple((note.pitch.octaves_up(-octave), note.beat) for note in notes)
