"""Judging from the same curves against another temperament, and which one a player is near."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import replace

import numpy as np

from playalong.music.key import parse_key
from playalong.music.pitch import Pitch
from playalong.music.temperament import TEMPERAMENT_WORDS, TEMPERAMENTS, Tuning, cents
from playalong.performance.timeline import Timeline, TimelineNote
from playalong.take import model
from playalong.take.model import Heard, HeardNote
from playalong.take.summary import row_of

AGREE_CENTS = 5.0
LEAST_NOTES = 4  # of one degree
NEARER_CENTS = 4.0  # than to the temperament that they were judged against


def judged_against(heard: Heard, temperament: str) -> Heard:
    """The same take against another temperament at the track's A4."""
    tuning = Tuning(heard.timeline.a4_hz, temperament)
    moved = {
        note.index: _cents_above_track(heard.timeline, note.note, tuning) for note in heard.notes
    }
    notes = tuple(_moved(note, moved[note.index]) for note in heard.notes)
    if temperament == heard.timeline.temperament:
        return replace(heard, notes=notes)
    count = sum(row_of(was) != row_of(now) for was, now in zip(heard.notes, notes, strict=True))
    own = TEMPERAMENT_WORDS[heard.timeline.temperament]
    remark = f"Against {own}, as the track sounds, {count} of the notes would be told otherwise."
    return replace(heard, notes=notes, against=temperament, remarks=(*heard.remarks, remark))


def _moved(note: HeardNote, target_cents: float) -> HeardNote:
    if note.cents is None or not target_cents:
        return note
    cents = note.cents - target_cents
    verdict = note.verdict
    if note.judged:
        verdict = model.JUDGED if abs(cents) < model.SAME_NOTE_CENTS else model.ANOTHER
    curve = tuple((seconds, value - target_cents) for seconds, value in note.curve)
    return replace(note, cents=cents, verdict=verdict, curve=curve)


def _cents_above_track(timeline: Timeline, note: TimelineNote, tuning: Tuning) -> float:
    """How far above the track's own pitch a tuning has a note; open strings stay as tuned."""
    pitch = Pitch.of(note.pitch)
    hz = tuning.open_hz(pitch) if note.finger == 0 else tuning.hz(pitch, parse_key(timeline.key))
    return cents(hz, note.hz)


def nearer(heard: Heard) -> list[str]:
    """A sentence for each degree whose notes agree and lie nearer to another temperament."""
    by_degree: dict[int, list[HeardNote]] = defaultdict(list)
    for note in heard.notes:
        if note.verdict == model.JUDGED and note.note.finger != 0:
            by_degree[round(note.note.cents_above_tonic / 100) % 12].append(note)
    told = []
    for notes in by_degree.values():
        off = np.array([note.cents for note in notes], float)
        if len(off) < LEAST_NOTES or np.abs(off - np.median(off)).max() > AGREE_CENTS:
            continue
        best = min(TEMPERAMENTS, key=lambda name: _distance(heard, notes, off, name))
        here = abs(float(np.median(off)))
        if here - _distance(heard, notes, off, best) > NEARER_CENTS:
            names = ", ".join(dict.fromkeys(note.note.pitch for note in notes))
            told.append(
                f"Your {names} agree with each other and lie nearer to {TEMPERAMENT_WORDS[best]} "
                f"(--against {best})."
            )
    return told


def _distance(heard: Heard, notes: Iterable[HeardNote], off: np.ndarray, name: str) -> float:
    """Of the notes' middle from where a temperament has it, in cents."""
    judged = Tuning(heard.timeline.a4_hz, heard.against or heard.timeline.temperament)
    other = Tuning(heard.timeline.a4_hz, name)
    moves = [
        _cents_above_track(heard.timeline, note.note, other)
        - _cents_above_track(heard.timeline, note.note, judged)
        for note in notes
    ]
    return abs(float(np.median(off - np.array(moves))))
