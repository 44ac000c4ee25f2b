"""Drill -> Score: the written bars at every place and pass, and the shifts between the notes."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import pairwise

from playalong.drill.model import Drill
from playalong.drill.notation import Token
from playalong.drill.rhythm import token_lengths
from playalong.instrument.fingerboard import STRETCH_SEMITONES, Hand
from playalong.instrument.shift import Kind, Travel, travel_between
from playalong.music.key import Key
from playalong.score.resolving import Head, Reader, UnplayableError
from playalong.score.score import Note, Score, pass_starts

SILENT_KINDS = (Kind.UNHEARD, Kind.SUBSTITUTION, Kind.HALF_STEP)


def build_score(
    drill: Drill,
    key: Key,
    string: str | None,
    *,
    passes: int | None = None,
    positions: tuple[int, int] | None = None,
    places: slice = slice(None),
) -> Score:
    """Write a drill out in one key and on one string.

    `positions` is a pupil's reach: places that leave it are left out and told. `places` takes
    some of the climb only. UnplayableError where a finger finds no place on the string.
    """
    reader = Reader(drill, Hand(drill.instrument, key, drill.tuning), string)
    passes = drill.passes if passes is None else passes
    kept, left_out = [], []
    for offset in reader.offsets():
        outside = _outside(reader.positions(offset), positions)
        if outside is None:
            kept.append((offset, reader.heads(offset)))
        else:
            left_out.append(f"the place that reaches position {outside} is left out")
    chosen = kept[places]
    if positions and not kept:
        message = f"no place of the climb lies within positions {positions[0]}-{positions[1]}"
        raise UnplayableError(drill.file, None, message)
    notes, idle = _Writer(drill, reader.hand).notes([heads for _, heads in chosen], passes)
    offsets = tuple(offset for offset, _ in chosen)
    warnings = tuple(dict.fromkeys([*idle, *_warnings(notes)]))
    return Score(
        drill, key, string, passes, offsets, tuple(notes), tuple(dict.fromkeys(left_out)), warnings
    )


@dataclass(frozen=True)
class _Writer:
    drill: Drill
    hand: Hand

    def notes(
        self, places: Sequence[Sequence[Head | None]], passes: int
    ) -> tuple[list[Note], list[str]]:
        """All notes, and a warning for each `~` and `-` that never does anything."""
        lengths = token_lengths(self.drill.pattern, self.drill.note, self.drill.rhythm)
        notes: list[Note] = []
        stopped: Note | None = None  # the last note under a finger, for the hand's travel
        idle = {n: t for n, t in enumerate(self.drill.pattern.tokens) if t.slide or t.silent}
        for place, pass_number, start in pass_starts(self.drill, len(places), passes):
            for number, note in self.one_pass(
                places[place - 1], lengths, place, pass_number, start
            ):
                token = self.drill.pattern.tokens[number]
                travel, heard = self.arrival(token, stopped, notes[-1] if notes else None, note)
                notes.append(replace(note, arrival=travel, heard=heard))
                stopped = notes[-1] if note.stop else stopped
                if heard if token.slide else travel is not None:
                    idle.pop(number, None)
        return notes, [_idle_words(token) for token in idle.values()]

    def one_pass(
        self,
        heads: Sequence[Head | None],
        lengths: Sequence[Sequence[Fraction]],
        place: int,
        pass_number: int,
        start: Fraction,
    ) -> Iterator[tuple[int, Note]]:
        """The written bars once, with the number of each note's token."""
        meter, number = self.drill.meter, -1
        for bar, spans in enumerate(lengths):
            at = Fraction(0)
            for span in spans:
                number += 1
                if head := heads[number]:
                    yield (
                        number,
                        Note(
                            start=start + bar * meter.bar + at,
                            length=span,
                            pitch=head.pitch,
                            hz=head.hz,
                            string=head.string,
                            position=head.position,
                            finger=head.finger,
                            place=place,
                            pass_number=pass_number,
                            bar=(place - 1) * len(lengths) + bar + 1,
                            beat=at / meter.beat,
                            bow=(place, pass_number, self.bow(number, bar * meter.bar + at)),
                        ),
                    )
                at += span

    def bow(self, number: int, at: Fraction) -> int:
        """Which bow of the pass takes a token; slurs count down from -1, so none collide."""
        token, drill = self.drill.pattern.tokens[number], self.drill
        if token.bow is not None:
            return -1 - token.bow
        if drill.pattern.has_slurs or drill.bow == "note":
            return number
        return int(at // drill.meter.span(drill.bow))

    def arrival(
        self, token: Token, stopped: Note | None, previous: Note | None, note: Note
    ) -> tuple[Travel | None, bool]:
        """The travel into a note, and whether it may be heard."""
        adjacent = previous is not None and previous.end == note.start
        travel = None
        if stopped is not None and stopped.stop and note.stop:
            direct = stopped is previous and adjacent and not token.silent
            lead = self.drill.slide.lead
            travel = travel_between(stopped.stop, note.stop, lead, self.hand, heard=direct)
        heard = travel is not None and travel.kind not in SILENT_KINDS
        if token.slide and not heard and adjacent and previous is not None:
            slide = self.written_slide(previous, note, travel)
            return slide or travel, slide is not None
        return travel, heard

    def written_slide(self, old: Note, new: Note, travel: Travel | None) -> Travel | None:
        """A slide written with ~ where no shift sounds one; None over an open string."""
        if travel is not None and travel.kind is Kind.HALF_STEP:
            return travel
        if old.pitch == new.pitch or old.string != new.string or 0 in (old.finger, new.finger):
            return None
        mm = None
        if new.string:
            start, end = (self.hand.place_mm(new.string, note.pitch) for note in (old, new))
            mm = abs(end - start)
        finger = new.finger if new.finger == old.finger else None
        return Travel(Kind.SLIDE, new.string, finger, old.pitch, new.pitch, mm)


def _idle_words(token: Token) -> str:
    if token.slide:
        needs = "a slide needs a note right before it on the same string"
        return f'"{token.text}": nothing slides into it; {needs}'
    return f'"{token.text}": no shift arrives at this note, so the - changes nothing'


def _outside(positions: Sequence[int], reach: tuple[int, int] | None) -> int | None:
    """The first position that leaves a pupil's reach."""
    if reach is None:
        return None
    return next((each for each in positions if not reach[0] <= each <= reach[1]), None)


def _warnings(notes: Sequence[Note]) -> Iterator[str]:
    """Hands that no drill should ask for without knowing it."""
    for old, new in pairwise(notes):
        one, two = old.stop, new.stop
        if not one or not two or (one.string, one.position) != (two.string, two.position):
            continue
        apart = two.pitch.key_number - one.pitch.key_number
        where = f"bar {new.bar}, position {two.position} on the {two.string} string"
        if one.finger != two.finger and (two.finger - one.finger) * apart <= 0:
            low, high = sorted((one, two), key=lambda stop: stop.finger)
            yield (
                f"{where}: finger {high.finger} ({high.pitch}) does not sound above "
                f"finger {low.finger} ({low.pitch})"
            )
        if abs(apart) > STRETCH_SEMITONES:
            yield f"{where}: {one.pitch} to {two.pitch} stretches the hand beyond its frame"
