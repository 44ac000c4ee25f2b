"""Drill -> Score: the written bars at every starting position, and the shifts between the notes."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import count

from playalong.drill.bars import WrittenBar
from playalong.drill.model import Drill
from playalong.drill.pattern import Event
from playalong.drill.rhythm import event_lengths
from playalong.instrument.fingerboard import Fingerboard
from playalong.instrument.shift import FINGERS_STAY, SILENT, Kind, Lead, Travel, travel_between
from playalong.music.key import Key, parse_key
from playalong.score.advice import slips, strains
from playalong.score.model import Note, Notehead, Score, StartingPosition
from playalong.score.resolving import Resolver, UnplayableError

NEW_LEADS = Lead("new finger", "new finger")


def write(drill: Drill, key: Key | str | None = None, string: str | None = None) -> Score:
    """Write a drill out in one of its keys and on one of its strings, the first if left out.

    Starting positions beyond the player's reach are left out and told. UnplayableError where a
    finger finds no place on the string, KeyNameError or InstrumentError for a key or string
    that there is none of.
    """
    key, string = _pair(drill, key, string)
    board = Fingerboard(drill.instrument.in_key(key), key, drill.tuning)
    resolver = Resolver(drill, board, string)
    kept: list[tuple[int, tuple[tuple[Notehead, ...], ...]]] = []
    left_out = []
    for letters in resolver.climb():
        outside = drill.positions and _outside(resolver.positions(letters), drill.positions)
        if outside is None:
            kept.append((letters, tuple(resolver.heads(letters))))
        else:
            left_out.append(f"the starting position that reaches position {outside} is left out")
    if not kept and drill.positions:
        low, high = drill.positions
        message = f"no starting position of the climb lies within positions {low}-{high}"
        raise UnplayableError(drill.file, None, message)
    writer = _Writer(drill, board)
    climb = tuple(writer.climb(kept))
    told = (
        *writer.idle_marks(climb),
        *slips(drill, key, kept),
        *strains(drill, climb, board),
    )
    warnings = dict.fromkeys(told)
    return Score(drill, key, string, climb, tuple(dict.fromkeys(left_out)), tuple(warnings))


def _pair(drill: Drill, key: Key | str | None, string: str | None) -> tuple[Key, str | None]:
    """Key and string to write in, the drill's first where none is named."""
    if key is None:
        key = drill.keys[0]
    elif isinstance(key, str):
        key = parse_key(key)
    if string is None and drill.strings:
        string = drill.strings[0]
    if string is not None:
        drill.instrument.string(string)
    return key, string


@dataclass(frozen=True)
class _Last:
    """What a note follows: the note before it, and the last one that a finger stopped."""

    note: Note | None = None
    stopped: Note | None = None

    def then(self, note: Note) -> _Last:
        return _Last(note, note if note.stop else self.stopped)

    def before(self, quarters: Fraction) -> _Last:
        """The same, its times counted from so many quarters later."""

        def moved(note: Note | None) -> Note | None:
            return note and replace(note, start=note.start - quarters)

        note = moved(self.note)
        return _Last(note, note if self.stopped is self.note else moved(self.stopped))


@dataclass(frozen=True)
class _Writer:
    drill: Drill
    board: Fingerboard

    def climb(
        self, stands: Sequence[tuple[int, Sequence[tuple[Notehead, ...]]]]
    ) -> Iterator[StartingPosition]:
        """One pass of every starting position, as it is reached from each side."""
        drill = self.drill
        lengths = event_lengths(drill.pattern, drill.note, drill.rhythm)
        before = _Last()
        for number, (letters, heads) in enumerate(stands, 1):
            plain = self.one_pass(heads, lengths, number)
            fresh, last = self.joined(plain, _Last())
            from_own_end = last.before(drill.stride)
            yield StartingPosition(
                number,
                letters,
                notes=self.reached(plain, before, fresh) if before.note else fresh,
                again=self.reached(plain, from_own_end, fresh),
                fresh=fresh,
            )
            before = from_own_end

    def one_pass(
        self,
        heads: Sequence[tuple[Notehead, ...]],
        lengths: Sequence[Sequence[Fraction]],
        stand: int,
    ) -> list[tuple[Event, Note]]:
        """The written bars once, rests left out, without the travel between the notes."""
        bars, found = self.drill.bars, list[tuple[Event, Note]]()
        numbers, firsts = count(), dict[tuple[Fraction, int], int]()
        for bar, events, spans in zip(bars, self.drill.pattern.bars, lengths, strict=True):
            start = bar.start
            for event, span in zip(events, spans, strict=True):
                number = next(numbers)
                if event.tied:
                    found[-1] = self.tied(*found[-1], event, span)
                elif heads[number]:
                    note = Note(
                        start=start,
                        length=span,
                        heads=heads[number],
                        stand=stand,
                        bar=(stand - 1) * self.drill.bar_count + bar.number,
                        beat=bar.beat(start),
                        bow=(stand, self.bow(event, number, start, bar, firsts)),
                    )
                    found.append((event, note))
                start += span
        for place in reversed(range(len(found) - 1)):
            event, note = found[place]
            if note.is_grace:  # in the bow of the note that it leads to
                found[place] = event, replace(note, bow=found[place + 1][1].bow)
        return found

    @staticmethod
    def tied(event: Event, note: Note, tie: Event, span: Fraction) -> tuple[Event, Note]:
        """A note that goes on; a slur that opens at its tie holds the whole of it."""
        bow = note.bow
        if event.slur is None and tie.slur is not None:
            event, bow = replace(event, slur=tie.slur), (note.stand, -1 - tie.slur)
        longer = replace(note, length=note.length + span, ties=(*note.ties, note.length), bow=bow)
        return event, longer

    def bow(
        self,
        event: Event,
        number: int,
        at: Fraction,
        bar: WrittenBar,
        firsts: dict[tuple[Fraction, int], int],
    ) -> int:
        """Which bow of the pass takes an event: the number of the first event that it takes.

        Slurs count down from -1, so none collide. `firsts` is by bar and part of the bar.
        """
        if event.slur is not None:
            return -1 - event.slur
        if self.drill.pattern.has_slurs or self.drill.bow == "note":
            return number
        part = (at - bar.line) // bar.meter.span(self.drill.bow)
        return firsts.setdefault((bar.start, part), number)

    def joined(
        self, notes: Sequence[tuple[Event, Note]], last: _Last
    ) -> tuple[tuple[Note, ...], _Last]:
        """The notes with the travel into each, after what came last; and what comes last then."""
        found = []
        for event, note in notes:
            travel, heard = self.arrival(event, last, note)
            head = replace(note.head, arrival=travel, heard=heard)
            found.append(replace(note, heads=(head, *note.heads[1:])))
            last = last.then(found[-1])
        return tuple(found), last

    def reached(
        self, notes: Sequence[tuple[Event, Note]], last: _Last, fresh: tuple[Note, ...]
    ) -> tuple[Note, ...]:
        """The same as `fresh` after what came last: alike from the second stopped note on."""
        stopped = (place for place, (_, note) in enumerate(notes) if note.stop)
        same = next(stopped, len(notes)) + 1
        return (*self.joined(notes[:same], last)[0], *fresh[same:])

    def arrival(self, event: Event, last: _Last, note: Note) -> tuple[Travel | None, bool]:
        """The travel into a note, and whether it may be heard."""
        previous, stopped = last.note, last.stopped
        # A grace note leaves no time to slide out of it.
        adjacent = previous is not None and previous.end == note.start and not previous.is_grace
        travel = None
        if stopped is not None and stopped.stop and note.stop:
            direct = stopped is previous and adjacent and not event.silent
            direct = direct and not (_speaks_elsewhere(stopped) or _speaks_elsewhere(note))
            lead, goes_up = self.drill.slide.lead, note.pitch.index > stopped.pitch.index
            board = self.board_of(note)
            board = board.rising if goes_up else board
            travel = travel_between(stopped.stop, note.stop, lead, board, heard=direct)
            if event.slide and travel is not None and travel.kind in FINGERS_STAY:
                lead = NEW_LEADS  # the slide that is asked for is the landing finger's
                travel = travel_between(stopped.stop, note.stop, lead, board, heard=direct)
        heard = travel is not None and travel.kind not in SILENT
        if event.slide and not heard and adjacent and previous is not None:
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
            board = self.board_of(new)
            start, end = (board.place_mm(new.string, note.pitch) for note in (old, new))
            mm = abs(end - start)
        finger = new.finger if new.finger == old.finger else None
        if travel is not None:
            hand_mm = travel.hand_travel_mm
        else:
            hand_mm = 0.0 if old.stop and new.stop else None
        return Travel(
            Kind.SLIDE, new.string, finger, old.pitch, new.pitch, mm, hand_travel_mm=hand_mm
        )

    def board_of(self, note: Note) -> Fingerboard:
        """The fingerboard in the key that a note is in."""
        if not self.drill.pattern.changes:
            return self.board
        return self.board.in_key(self.drill.bar_at(note.start).key or self.board.key)

    def idle_marks(self, climb: Sequence[StartingPosition]) -> Iterator[str]:
        """A warning for each `~` and `-` that never does anything."""
        events = [event for event in self.drill.pattern.events if event.symbols]
        passes = [stand.notes for stand in climb]
        if self.drill.passes > 1:
            passes += [stand.again for stand in climb]
        for number, event in enumerate(events):
            reached = [notes[number] for notes in passes]
            if event.slide and not any(note.heard for note in reached):
                needs = "a slide needs a note right before it on the same string"
                yield f'"{event.origin.text}": nothing slides into it; {needs}'
            if event.silent and not any(note.arrival for note in reached):
                yield (
                    f'"{event.origin.text}": no shift arrives at this note, so the - changes '
                    "nothing"
                )


def _speaks_elsewhere(note: Note) -> bool:
    """Whether a harmonic sounds another pitch than that of its place, so that none slides to it."""
    return note.touched is not None and note.touched.place.key_number != note.pitch.key_number


def _outside(positions: Sequence[int], within: tuple[int, int]) -> int | None:
    """The first position that leaves a pupil's reach."""
    return next((each for each in positions if not within[0] <= each <= within[1]), None)
