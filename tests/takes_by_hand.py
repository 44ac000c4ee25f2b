"""Takes as if they had been heard: figures by hand, without a sound."""

from __future__ import annotations

from collections.abc import Sequence

from playalong.music.pitch import Pitch
from playalong.music.temperament import Tuning
from playalong.performance.timeline import Timeline, TimelineNote, TimelineSlide
from playalong.take import model
from playalong.take.model import Heard, HeardNote, HeardShift
from playalong.take.sweeps import Placed

SLIDE = TimelineSlide(0.0, 0.4, "same finger", 1, "D", 330.0, 392.0, 53.0, True, ((0.0, 330.0),))


def heard_of(
    cents: Sequence[float],
    *,
    fingers: Sequence[int] | None = None,
    pitches: Sequence[str] | None = None,
    overshoots: Sequence[float] = (),
    key: str = "D major",
) -> Heard:
    """One note a beat, each so many cents off; the first ones after shifts."""
    notes, shifts = [], []
    for number, off in enumerate(cents):
        pitch = pitches[number] if pitches else "E4"
        written = _note(number, pitch, fingers[number] if fingers else 1, number < len(overshoots))
        verdict = model.JUDGED if abs(off) < model.SAME_NOTE_CENTS else model.ANOTHER
        notes.append(
            HeardNote(number, written, verdict, off, 0.5, 4.0, False, 0.0, None, 0.0, 0.5, -20.0)
        )
        if number < len(overshoots):
            shifts.append(HeardShift(number, written, 0.0, overshoots[number], 140.0, 200.0))
    timeline = Timeline(
        "T", "violin", 440.0, "equal", 60, "4/4", "answer", key, "D", 60.0, 293.66, (), (),
        tuple(each.note for each in notes),
    )  # fmt: skip
    placed = Placed(1.5, 2.0, "both", 40.0)
    return Heard(timeline, placed, tuple(notes), tuple(shifts), leak_db=-22.0)


def _note(number: int, name: str, finger: int, shifted: bool) -> TimelineNote:
    pitch = Pitch.of(name)
    hz = Tuning().open_hz(pitch)
    above = 100.0 * ((pitch.key_number - Pitch.of("D4").key_number) % 12)
    return TimelineNote(
        float(number), number + 1.0, hz, name, finger, "D", 1, number // 4 + 1, 1, number % 4,
        False, "note", True, above, slide=SLIDE if shifted else None,
    )  # fmt: skip
