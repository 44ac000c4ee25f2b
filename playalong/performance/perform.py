"""Score -> Performance: a tempo and a stage decide what sounds, and for how long."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from playalong.drill.model import TEMPO_RANGE_BPM
from playalong.drill.stage import Stage
from playalong.drill.validation import find_stages
from playalong.errors import PlayalongError
from playalong.instrument.shift import GHOST_SHARE, NOTE_TO_NOTE
from playalong.performance.clock import Clock
from playalong.performance.glide import Glide
from playalong.performance.performance import (
    GhostNote,
    Pass,
    Performance,
    PlayedNote,
    Slide,
    Tone,
)
from playalong.performance.played_times import played_times
from playalong.performance.track_layout import TrackLayout, clock_of, tonic
from playalong.score.model import Note, Score

LONGEST_SLIDE_SECONDS = Fraction(6, 10)
SHORTEST_SLIDE_SECONDS = Fraction(4, 100)
SHORTEST_STAY_SECONDS = Fraction(8, 100)  # of the departing note before its slide
SHORTEST_GHOST_SECONDS = Fraction(12, 100)
SLIDE_DIP_DB = {"full": 1.5, "lighter": 6.0, "none": 0.0}  # as a bow hand gives way to a finger
GHOST_SETTLE_DB = {"sounded": 1.0, "light": 1.0, "silent": 12.0}  # the finger's weight goes


def perform(
    score: Score,
    bpm: int | None = None,
    stage: Stage | str | None = None,
    *,
    stands: slice = slice(None),
) -> Performance:
    """Play a score at `bpm` beats a minute with the help that a stage gives.

    Where they are left out, the drill's first tempo and first stage. `stands` takes some starting
    positions of the climb only. PlayalongError for a tempo, stage or choice that there is none of.
    """
    bpm, stage = _tempo(score, bpm), _stage(score, stage)
    if not score.climb[stands]:
        raise PlayalongError(f"the climb has {len(score.climb)} starting positions, none of these")
    clock = clock_of(score, bpm)
    passes = stage.passes(score.drill.passes)
    layout = TrackLayout(score, clock, passes, score.climb[stands])
    player = _Player(score, stage, clock)
    played = tuple(layout.played())
    notes = list(player.notes(played))
    guide, held = player.tones(notes)
    first = next(each.note for each in notes if not each.note.is_grace)
    given = player.given(first, layout)
    return Performance(
        score=score,
        bpm=bpm,
        stage=stage,
        clock=clock,
        length=layout.end,
        passes=played,
        bars=tuple(layout.bars()),
        music_start=layout.music_start,
        music_end=layout.music_end,
        clicks=tuple(layout.clicks(stage)),
        drones=tuple(layout.drones(stage)),
        tonic_hz=score.board.hz(tonic(score)),
        guide=(*_given_tone(given), *guide),
        ghosts=tuple(player.ghost_tones(notes)),
        notes=(*given, *_with_onsets(notes, held)),
    )


def _tempo(score: Score, bpm: int | None) -> int:
    low, high = TEMPO_RANGE_BPM
    chosen = score.drill.tempo.start if bpm is None else bpm
    if not isinstance(chosen, int) or not low <= chosen <= high:
        raise PlayalongError(f"bpm = {chosen} is not a whole number from {low} to {high}")
    return chosen


def _stage(score: Score, stage: Stage | str | None) -> Stage:
    if isinstance(stage, str):
        return find_stages([stage], score.drill.own_stages)[0]
    return stage or score.drill.stages[0]


@dataclass(frozen=True)
class _Player:
    score: Score
    stage: Stage
    clock: Clock

    def notes(self, played: Sequence[Pass]) -> Iterator[PlayedNote]:
        """Every note of every pass, heard or not, with the slide and the ghost note into it."""
        old: PlayedNote | None = None
        passes = self.stage.passes(self.score.drill.passes)
        landings = self.score.has_landings(passes)
        times = iter(played_times(self.clock, played))
        for each in played:
            level = self.stage.guide_level(each.number)
            bars = (None, *(note.bar if note.beat >= 0 else None for note in each.notes))
            landed = False  # on a grace note of this one
            for note, bar_before in zip(each.notes, bars, strict=False):
                start, end, early = next(times)
                lands = note.is_landing if landings else note.beat >= 0 and note.bar != bar_before
                landed = landed or lands
                late = level == "landings" and landed and not note.is_grace
                new = PlayedNote(
                    note,
                    each.number,
                    start,
                    end,
                    sounds=late or level in ("full", "soft"),
                    early=early,
                    heard_from=start + (end - start) / 2 if late else None,
                )
                landed = landed and note.is_grace
                old = self.reached(old, new)
                yield old

    def reached(self, old: PlayedNote | None, new: PlayedNote) -> PlayedNote:
        """A note with the slide and the ghost note that lead into it."""
        travel = new.note.arrival
        if old is None or travel is None:
            return new
        length, strength = Fraction(0), "silent"
        if new.note.heard:
            length, strength = self.slide_and_ghost(old, travel.slides_onto_ghost)
        hold = old.length * GHOST_SHARE if strength == "sounded" else Fraction(0)
        end = new.start - hold
        sounds = length > 0 and self.stage.slides != "none"
        slide = Slide(
            end - length,
            end,
            travel,
            self.glide(old.note, new.note),
            sounds and old.sounds_whole and new.sounds_whole,
            dip_db=SLIDE_DIP_DB[self.stage.slides],
            settle_db=GHOST_SETTLE_DB[strength] if travel.slides_onto_ghost else 0.0,
        )
        return replace(new, slide=slide, ghost=self.ghost(old, new, slide, strength))

    def slide_and_ghost(self, old: PlayedNote, has_ghost: bool) -> tuple[Fraction, str]:
        """Length in quarters of the slide out of a note, and its ghost's strength.

        Where there is no room, a sounded ghost becomes light; then neither sounds.
        """
        quarters, length = self.clock.quarters, old.length
        share = self.score.drill.slide.share
        slide = min(length * share, quarters(LONGEST_SLIDE_SECONDS))
        strength = self.stage.ghosts if has_ghost else "silent"
        hold = length * GHOST_SHARE
        stay = quarters(SHORTEST_STAY_SECONDS)
        if strength == "sounded" and (
            hold < quarters(SHORTEST_GHOST_SECONDS) or length - slide - hold < stay
        ):
            strength = "light"
        left = length - slide - (hold if strength == "sounded" else 0)
        if left < stay or slide < quarters(SHORTEST_SLIDE_SECONDS):
            return Fraction(0), "silent"
        return slide, strength

    def glide(self, old: Note, new: Note) -> Glide:
        travel, board = new.arrival, self.score.board_of(new)
        if travel is None or travel.kind in NOTE_TO_NOTE:  # whatever the fingers do
            from_hz, to_hz = old.hz, new.hz
        else:
            from_hz, to_hz = board.hz(travel.start), board.hz(travel.end)
        string = travel.string if travel else None
        return Glide(from_hz, to_hz, board.open_hz(string) if string else None)

    def ghost(
        self, old: PlayedNote, new: PlayedNote, slide: Slide, strength: str
    ) -> GhostNote | None:
        travel = slide.travel
        if travel.ghost is None:
            return None
        leads = travel.slides_from_ghost
        start = slide.start if leads else slide.end
        return GhostNote(
            start,
            start if leads else new.start,
            travel.ghost,
            self.score.board_of(new.note).hz(travel.ghost),
            new.note.finger if leads else old.note.finger,
            travel.string,
            old.note.position if leads else new.note.position,
            sounds=slide.sounds and (leads or strength != "silent"),
            onset=leads or strength == "sounded",
        )

    def tones(self, notes: Sequence[PlayedNote]) -> tuple[list[Tone], set[int]]:
        """The guide's tones, and the numbers of the notes that begin without an onset."""
        tones: list[Tone] = []
        held: set[int] = set()
        for number, new in enumerate(notes):
            note = new.note
            if new.heard_from is not None:
                tones.append(Tone(new.heard_from, new.end, note.pitch, note.hz, "full"))
            if not new.sounds_whole:
                continue
            old = notes[number - 1] if number else None
            slide = new.slide if new.slide and new.slide.sounds else None
            joined = old is not None and old.sounds_whole and new.shares_bow_with(old)
            if joined and old and self.repeats(old.note, note):
                joined = False
            start, hz = new.start, note.hz
            slides: tuple[Slide, ...] = ()
            if slide and slide.travel.slides_from_ghost:
                start, hz, slides = slide.start, slide.glide.from_hz, (slide,)
                tones[-1] = replace(tones[-1], end=start)
                held.add(number)
            elif slide:
                tones[-1] = replace(tones[-1], slides=(*tones[-1].slides, slide))
            if joined and old and self.stays(old.note, note, slide):
                tones[-1] = replace(tones[-1], end=new.end)
                held.add(number)
                continue
            if joined:
                tones[-1] = replace(tones[-1], into_slur=True)
            level = self.stage.guide_level(new.pass_number)
            tones.append(Tone(start, new.end, note.pitch, hz, level, joined, slides=slides))
        return tones, held

    @staticmethod
    def repeats(old: Note, note: Note) -> bool:
        """Whether one finger plays its pitch again: the bow stops for it, though it does not turn.

        (Portato; common practice.)
        """
        return (old.hz, old.finger, old.string) == (note.hz, note.finger, note.string)

    @staticmethod
    def stays(old: Note, note: Note, slide: Slide | None) -> bool:
        """Whether a slurred note goes on as the tone before it, bent or of the same pitch."""
        if slide:
            return slide.travel.kind in NOTE_TO_NOTE
        return old.hz == note.hz

    def ghost_tones(self, notes: Sequence[PlayedNote]) -> Iterator[Tone]:
        """Ghost notes of a length of their own, laid over the guide."""
        for new in notes:
            slide, ghost = new.slide, new.ghost
            if slide and ghost and ghost.sounds and ghost.onset and ghost.end > ghost.start:
                level = self.stage.guide_level(new.pass_number)
                yield Tone(slide.end, new.start, slide.travel.end, slide.glide.to_hz, level)

    def given(self, first: Note, layout: TrackLayout) -> tuple[PlayedNote, ...]:
        """The first note, given softly in the count-in."""
        start, end = layout.drone_start, layout.given_end
        return (PlayedNote(first, 0, start, end, sounds=True),)


def _given_tone(given: Sequence[PlayedNote]) -> Iterator[Tone]:
    for note in given:
        yield Tone(note.start, note.end, note.note.pitch, note.note.hz, "soft")


def _with_onsets(notes: Sequence[PlayedNote], held: set[int]) -> Iterator[PlayedNote]:
    for number, note in enumerate(notes):
        yield replace(note, onset=number not in held)
