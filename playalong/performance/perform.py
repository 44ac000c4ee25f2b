"""Score -> Performance: a tempo and a stage decide what sounds, and for how long."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from playalong.drill.stage import Stage
from playalong.instrument.shift import Kind
from playalong.performance.clock import Clock
from playalong.performance.glide import Course
from playalong.performance.performance import Event, Performance, Slide, Tone
from playalong.performance.track_layout import Frame, tonic
from playalong.score.score import Note, Score

LONGEST_SLIDE_SECONDS = Fraction(6, 10)
SHORTEST_SLIDE_SECONDS = Fraction(4, 100)
SHORTEST_STAY_SECONDS = Fraction(8, 100)  # of the departing note before its slide
SHORTEST_GHOST_SECONDS = Fraction(12, 100)
GHOST_SHARE = Fraction(1, 4)  # of the departing note
LIGHTER_DIP_DB = 6.0
GHOST_SETTLE_DB = {"sounded": 1.0, "light": 1.0, "silent": 12.0}  # the finger's weight goes

GHOST_KINDS = (Kind.OLD_FINGER, Kind.ACROSS_STRINGS)  # the slide ends on a ghost note
INTO_NOTE_KINDS = (Kind.SAME_FINGER, Kind.EXCHANGE, Kind.SLIDE, Kind.HALF_STEP)


@dataclass(frozen=True)
class Arrival:
    """How one note is reached: the slide into it and the strength of its ghost note."""

    slide: Slide
    ghost: str  # sounded, light, silent


def perform(score: Score, bpm: int, stage: Stage) -> Performance:
    """Play a score at `bpm` beats a minute with the help that a stage gives."""
    clock = Clock.at(bpm * score.drill.meter.beat)
    frame = Frame(score, clock)
    notes = [replace(note, start=note.start + frame.music_start) for note in score.notes]
    player = _Player(score, stage, clock)
    arrivals = [player.arrival(old, new) for old, new in zip([None, *notes], notes, strict=False)]
    guide, held = player.tones(notes, arrivals)
    given = player.given(notes[0], frame)
    ghosts = player.ghost_tones(notes, arrivals)
    return Performance(
        score=score,
        bpm=bpm,
        stage=stage,
        clock=clock,
        length=frame.end,
        music_start=frame.music_start,
        music_end=frame.music_end,
        clicks=tuple(frame.clicks(stage)),
        drone=frame.drone(stage),
        tonic_hz=score.hand.hz(tonic(score)),
        guide=(Tone(given.start, given.end, given.pitch, given.hz, "soft"), *guide),
        ghosts=tuple(ghosts),
        events=(given, *player.events(notes, arrivals, held)),
        slides=tuple(arrival.slide for arrival in arrivals if arrival),
    )


@dataclass(frozen=True)
class _Player:
    score: Score
    stage: Stage
    clock: Clock

    def sounds(self, note: Note) -> bool:
        """Whether the guide plays the whole note."""
        return self.stage.guide_level(note.pass_number) in ("full", "soft")

    def enters_late(self, note: Note) -> bool:
        return self.stage.guide_level(note.pass_number) == "landings" and note.is_landing

    def arrival(self, old: Note | None, new: Note) -> Arrival | None:
        """The slide into a note, its time and its ghost; None where no travel leads to it."""
        travel = new.arrival
        if old is None or travel is None:
            return None
        length, ghost = Fraction(0), "silent"
        if new.heard:
            length, ghost = self.slide_and_ghost(old, travel.kind in GHOST_KINDS)
        hold = old.length * GHOST_SHARE if ghost == "sounded" else Fraction(0)
        end = new.start - hold
        sounds = length > 0 and self.stage.slides != "none"
        sounds = sounds and self.sounds(old) and self.sounds(new)
        slide = Slide(
            end - length,
            end,
            travel,
            self.course(old, new),
            sounds,
            dip_db=LIGHTER_DIP_DB if self.stage.slides == "lighter" else 0.0,
            settle_db=GHOST_SETTLE_DB[ghost] if travel.kind in GHOST_KINDS else 0.0,
        )
        return Arrival(slide, ghost)

    def slide_and_ghost(self, old: Note, has_ghost: bool) -> tuple[Fraction, str]:
        """Length in quarters of the slide out of a note, and its ghost's strength.

        Where there is no room, a sounded ghost becomes light; then neither sounds.
        """
        quarters = self.clock.quarters
        share = self.score.drill.slide.share
        slide = min(old.length * share, quarters(LONGEST_SLIDE_SECONDS))
        ghost = self.stage.ghosts if has_ghost else "silent"
        hold = old.length * GHOST_SHARE
        stay = quarters(SHORTEST_STAY_SECONDS)
        if ghost == "sounded" and (
            hold < quarters(SHORTEST_GHOST_SECONDS) or old.length - slide - hold < stay
        ):
            ghost = "light"
        left = old.length - slide - (hold if ghost == "sounded" else 0)
        if left < stay or slide < quarters(SHORTEST_SLIDE_SECONDS):
            return Fraction(0), "silent"
        return slide, ghost

    def course(self, old: Note, new: Note) -> Course:
        travel, hand = new.arrival, self.score.hand
        assert travel is not None
        from_hz, to_hz = hand.hz(travel.start), hand.hz(travel.end)
        if travel.kind in INTO_NOTE_KINDS:  # the slide joins the notes, whatever the fingers do
            from_hz, to_hz = old.hz, new.hz
        return Course(from_hz, to_hz, hand.open_hz(travel.string) if travel.string else None)

    def tones(
        self, notes: Sequence[Note], arrivals: Sequence[Arrival | None]
    ) -> tuple[list[Tone], set[int]]:
        """The guide's tones, and the numbers of the notes that begin without an onset."""
        tones: list[Tone] = []
        held: set[int] = set()
        for number, (note, arrival) in enumerate(zip(notes, arrivals, strict=True)):
            old = notes[number - 1] if number else None
            if self.enters_late(note):
                start = note.start + note.length / 2
                tones.append(Tone(start, note.end, note.pitch, note.hz, "full"))
            if not self.sounds(note):
                continue
            slide = arrival.slide if arrival and arrival.slide.sounds else None
            joined = (
                old is not None
                and self.sounds(old)
                and old.bow == note.bow
                and old.end == note.start
            )
            start, hz = note.start, note.hz
            slides: tuple[Slide, ...] = ()
            if slide and slide.travel.kind is Kind.NEW_FINGER:
                start, hz, slides = slide.start, slide.course.from_hz, (slide,)
                tones[-1] = replace(tones[-1], end=start)
                held.add(number)
            elif slide:
                tones[-1] = replace(tones[-1], slides=(*tones[-1].slides, slide))
            if joined and old and self.stays(old, note, slide):
                tones[-1] = replace(tones[-1], end=note.end)
                held.add(number)
                continue
            if joined:
                tones[-1] = replace(tones[-1], into_slur=True)
            level = self.stage.guide_level(note.pass_number)
            tones.append(Tone(start, note.end, note.pitch, hz, level, joined, slides=slides))
        return tones, held

    @staticmethod
    def stays(old: Note, note: Note, slide: Slide | None) -> bool:
        """Whether a slurred note goes on as the tone before it, bent or of the same pitch."""
        if slide:
            return slide.travel.kind in INTO_NOTE_KINDS
        return old.hz == note.hz

    def ghost_tones(self, notes: Sequence[Note], arrivals: Sequence[Arrival | None]) -> list[Tone]:
        return [
            Tone(
                arrival.slide.end,
                note.start,
                arrival.slide.travel.end,
                arrival.slide.course.to_hz,
                self.stage.guide_level(note.pass_number),
            )
            for note, arrival in zip(notes, arrivals, strict=True)
            if arrival and arrival.slide.sounds and arrival.ghost == "sounded"
        ]

    def given(self, first: Note, frame: Frame) -> Event:
        """The first note, given softly in the count-in."""
        return Event(
            first,
            frame.drone_start,
            frame.given_end,
            first.pitch,
            first.hz,
            first.finger,
            first.string,
            first.position,
            "note",
            sounds=True,
            count_in=True,
        )

    def events(
        self, notes: Sequence[Note], arrivals: Sequence[Arrival | None], held: set[int]
    ) -> list[Event]:
        """Every note and ghost note in order of time, heard or not."""
        events = []
        for number, (note, arrival) in enumerate(zip(notes, arrivals, strict=True)):
            if arrival and arrival.slide.travel.ghost:
                events.append(self.ghost_event(notes[number - 1], note, arrival))
            late = self.enters_late(note)
            events.append(
                Event(
                    note,
                    note.start,
                    note.end,
                    note.pitch,
                    note.hz,
                    note.finger,
                    note.string,
                    note.position,
                    "note",
                    sounds=late or self.sounds(note),
                    onset=number not in held,
                    heard_from=note.start + note.length / 2 if late else None,
                )
            )
        return sorted(events, key=lambda event: event.start)

    def ghost_event(self, old: Note, note: Note, arrival: Arrival) -> Event:
        slide = arrival.slide
        travel = slide.travel
        assert travel.ghost is not None
        leads = travel.kind is Kind.NEW_FINGER
        start = slide.start if leads else slide.end
        return Event(
            note,
            start,
            start if leads else note.start,
            travel.ghost,
            self.score.hand.hz(travel.ghost),
            travel.finger,
            travel.string,
            old.position if leads else note.position,
            "ghost",
            sounds=slide.sounds and (leads or arrival.ghost != "silent"),
            onset=leads or arrival.ghost == "sounded",
        )
