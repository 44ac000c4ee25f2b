"""Listen to one pass of a track in a recording, note by note."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from playalong.performance.clock import SAMPLE_RATE_HZ
from playalong.performance.timeline import Timeline, TimelineNote
from playalong.take import model
from playalong.take.clock import OnTrackClock, spectra
from playalong.take.holds import NEAR_CENTS, OCTAVE_CENTS, Hold, held
from playalong.take.model import Heard, HeardNote, HeardShift
from playalong.take.notes import AFTER_SECONDS, BEFORE_SECONDS, Shape, level_db, shaped
from playalong.take.playing import by_playing
from playalong.take.recording import InMemory, Samples, Sounds
from playalong.take.shifts import shift_into
from playalong.take.spectra import HOP_SECONDS, Floats, Spectra, window_frames
from playalong.take.sweeps import Peaks, Placed, find_peaks, last_whole, started_late, starts
from playalong.take.whose import Leak, leak_of

TYPICAL_DB = 19.0  # below the player's typical level a pitch is no note of theirs
VOICED = 0.2  # share of the sound that must be of the note's own partials
STEADY = 0.35  # share of the written time that one pitch must fill
LEAST_TIMES = 6
SAME_CENTS, FALLEN_DB = 40.0, 8.0  # of a note before that only rings on
FAR_FALLEN_DB = 12.0  # a bow that seems new is none
FALLING_DB = 10.0  # a second, at least; a room of 1.2 s lets it fall by 50, a bow hardly
LEAK_CENTS = 2.5  # by which a leak as loud as the player may pull a note, as a spread
LEAST_GHOST_SECONDS = 0.12
HELD_GHOST = 0.6  # share of its time that a ghost note must fill with one pitch


@dataclass(frozen=True)
class Candidate:
    """What may be a note of the player."""

    index: int
    note: TimelineNote
    hold: Hold | None = None
    shape: Shape | None = None
    level_db: float = -120.0
    voiced: float = 0.0
    is_leak: bool = False
    rings_on: bool = False  # the note before, in the room or on its string
    shift: HeardShift | None = None

    @property
    def hz(self) -> float:
        assert self.hold is not None
        return _hz(self.note, self.hold)


def _hz(note: TimelineNote, hold: Hold) -> float:
    return float(note.hz * 2 ** (hold.cents / 1200))


def listen_to(recording: Sounds | NDArray[np.float32], track: Samples, timeline: Timeline) -> Heard:
    """What was played in a recording of a track; arrays are mono at 44.1 kHz."""
    sounds = InMemory(recording, SAMPLE_RATE_HZ) if isinstance(recording, np.ndarray) else recording
    peaks = find_peaks(sounds, track)
    placed = last_whole(starts(peaks, timeline))
    if placed is None:
        (placed,) = place_by_playing(sounds, peaks, [timeline])
    return listen(sounds, placed, track, timeline)


def place_by_playing(sounds: Sounds, peaks: Peaks, timelines: Sequence[Timeline]) -> list[Placed]:
    """Where no count-in is heard: by the notes, and then by what sweeps there are."""
    found = []
    for placed, timeline in zip(by_playing(sounds, timelines), timelines, strict=True):
        sure = started_late(peaks, timeline, placed.offset_seconds, 0.25)
        found.append(replace(sure, strength=placed.strength) if sure else placed)
    return found


def listen(recording: Sounds, placed: Placed, track: Samples, timeline: Timeline) -> Heard:
    """One pass whose place is known."""
    sound = OnTrackClock(recording, placed)
    window = window_frames(min(note.hz for note in timeline.notes))
    own = InMemory(track, SAMPLE_RATE_HZ)
    leak = leak_of(sound, own, timeline, window) if placed.how != "playing" else None
    places = {id(note): place for place, note in enumerate(timeline.all_notes)}
    candidates: list[Candidate] = []
    before = last = None
    for note in timeline.notes:
        if note.is_given:
            continue
        found = _candidate(sound, own, leak, places[id(note)], note, before, last, window)
        candidates.append(found)
        sounds = found.hold and not found.is_leak and not found.rings_on
        before = found if sounds else None
        last = before or last
    return _heard(timeline, placed, candidates, leak)


def _candidate(
    sound: OnTrackClock,
    own: InMemory,
    leak: Leak | None,
    index: int,
    note: TimelineNote,
    before: Candidate | None,
    last: Candidate | None,
    window: int,
) -> Candidate:
    """`before` is the note before, if it was played, `last` the last one that was."""
    length = note.to_seconds - note.from_seconds
    if note.from_seconds + 0.3 * length < sound.from_seconds or note.to_seconds > sound.to_seconds:
        return Candidate(index, note)
    begin, end = note.from_seconds - BEFORE_SECONDS, note.to_seconds + AFTER_SECONDS
    seen = spectra(sound, begin, end, window)
    hold = held(seen, note.hz, note.from_seconds, note.to_seconds)
    if hold is None:
        return Candidate(index, note)
    is_leak = False
    if leak is not None:
        heard = spectra(own, begin, end, window)
        if hold.cents < -OCTAVE_CENTS + NEAR_CENTS and leak.explains(
            seen, heard, _hz(note, hold), hold.rows, step=2
        ):  # a drone below
            hold = held(seen, note.hz, note.from_seconds, note.to_seconds, may_be_below=False)
            assert hold is not None
        is_leak = leak.explains(seen, heard, _hz(note, hold), hold.rows)
    hz = _hz(note, hold)
    levels = level_db(seen, hz, hold.rows)
    level = float(np.median(levels))
    before_hz = before.hz if before else None
    shape = shaped(seen, note.hz, note.from_seconds, note.to_seconds, hold, before_hz)
    is_new = before is not None and shape.fresh_bow
    rings_on = last is not None and _rings_on(last, hold, hz, levels, is_new)
    voiced = _voiced(seen, level, hold.rows)
    found = Candidate(index, note, hold, shape, level, voiced, is_leak, rings_on)
    shift = shift_into(seen, index, note, shape, before_hz)
    if shift is not None:
        shift = replace(shift, ghost_cents=_ghost_cents(sound, note, window))
    return replace(found, shift=shift)


def _rings_on(last: Candidate, hold: Hold, hz: float, levels_db: Floats, is_new: bool) -> bool:
    """Whether it is only what is left of the last note: as high, weaker, and falling.

    In a room a tail beats, which looks like a bow, and where the next one comes early it seems to
    rise: what is far weaker and at the last note's pitch is no new bow, and at that instead of the
    written one it need not fall.
    """
    is_same = abs(1200 * np.log2(hz / last.hz)) < SAME_CENTS
    fallen_db = last.level_db - float(np.median(levels_db))
    a_row_db = float(np.polyfit(np.arange(len(levels_db)), levels_db, 1)[0])
    is_falling = a_row_db < -FALLING_DB * HOP_SECONDS
    if is_same and fallen_db > FAR_FALLEN_DB:
        return is_falling or abs(hold.cents) > NEAR_CENTS
    return is_same and fallen_db > FALLEN_DB and is_falling and not is_new


def _ghost_cents(sound: OnTrackClock, note: TimelineNote, window: int) -> float | None:
    """How true the ghost note was, where the drill holds one and the player did."""
    ghost = note.ghost
    if ghost is None or ghost.to_seconds - ghost.from_seconds < LEAST_GHOST_SECONDS:
        return None
    seen = spectra(sound, ghost.from_seconds, ghost.to_seconds, window)
    hold = held(seen, ghost.hz, ghost.from_seconds, ghost.to_seconds)
    if hold is None or hold.share < HELD_GHOST or abs(hold.cents) > model.SAME_NOTE_CENTS:
        return None
    return hold.cents


def _voiced(seen: Spectra, level: float, rows: slice) -> float:
    """How much of all that sounds lies on the note's partials."""
    return float(10 ** ((level - np.median(seen.loudness_db[rows])) / 10))


def _heard(
    timeline: Timeline, placed: Placed, candidates: list[Candidate], leak: Leak | None
) -> Heard:
    loud = [
        each.level_db
        for each in candidates
        if each.hold and not each.is_leak and each.voiced > 0.15
    ]
    typical = float(np.median(loud)) if loud else 0.0
    leak_db = float(leak.db - typical) if leak is not None and loud else None
    pulled_cents = 0.0 if leak_db is None else LEAK_CENTS * 10 ** (leak_db / 20)
    notes, shifts = [], []
    for number, each in enumerate(candidates):
        notes.append(_note(each, typical, pulled_cents))
        follows = number > 0 and notes[number - 1].heard
        if each.shift and notes[number].judged and follows and abs(notes[number].cents or 0) < 60:
            shifts.append(each.shift)
    heard = Heard(timeline, placed, tuple(notes), tuple(shifts), leak_db)
    return _without_lateness(heard) if placed.how == "playing" else heard


def _note(found: Candidate, typical_db: float, pulled_cents: float) -> HeardNote:
    if found.hold is None or found.shape is None:
        return HeardNote(found.index, found.note, model.OUTSIDE)
    hold, shape = found.hold, found.shape
    sounds = found.voiced > VOICED and found.level_db > typical_db - TYPICAL_DB
    if (
        found.is_leak
        or found.rings_on
        or not sounds
        or hold.share <= STEADY
        or hold.times <= LEAST_TIMES
    ):
        return HeardNote(found.index, found.note, model.NOT_HEARD)
    verdict = model.JUDGED if abs(shape.cents) < model.SAME_NOTE_CENTS else model.ANOTHER
    if not shape.judged:
        verdict = model.TOO_SHORT if shape.spread_cents is None else model.UNSTEADY
    spread = (
        None if shape.spread_cents is None else float(np.hypot(shape.spread_cents, pulled_cents))
    )
    onset_ms = 1000 * (shape.arrival_seconds - found.note.from_seconds)
    return HeardNote(
        found.index,
        found.note,
        verdict,
        cents=shape.cents,
        spread_cents=spread,
        onset_ms=onset_ms if shape.has_onset else None,
        fresh_bow=shape.fresh_bow,
        vibrato_cents=shape.vibrato_cents,
        vibrato_hz=shape.vibrato_hz,
        from_seconds=shape.from_seconds,
        to_seconds=shape.to_seconds,
        level_db=found.level_db,
        curve=shape.curve,
    )


def _without_lateness(heard: Heard) -> Heard:
    """Only differences between onsets can be known: the middle one is taken as nought.

    What slides in begins when it lands, which is later than when it comes near.
    """
    landings = {each.into: each.landing_ms for each in heard.shifts}
    onsets = [
        each.onset_ms + landings.get(each.index, 0.0)
        for each in heard.notes
        if each.onset_ms is not None and (each.note.slide is None or each.index in landings)
    ]
    if not onsets:
        return heard
    middle = float(np.median(onsets))
    notes = tuple(
        each if each.onset_ms is None else replace(each, onset_ms=each.onset_ms - middle)
        for each in heard.notes
    )
    shifts = tuple(replace(each, arrival_ms=each.arrival_ms - middle) for each in heard.shifts)
    placed = replace(heard.placed, offset_seconds=heard.placed.offset_seconds + middle / 1000)
    return replace(heard, notes=notes, shifts=shifts, placed=placed)
