"""What was heard of a take, as facts: notes, shifts and where the track lay in the recording."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from playalong.performance.timeline import Timeline, TimelineNote
from playalong.take.sweeps import Placed

FORMAT = "playalong take 1"
SAME_NOTE_CENTS = 50.0  # from the written pitch; further away it is another note

# What can be said of a note.
JUDGED = "judged"
ANOTHER = "another note"
NOT_HEARD = "not heard"
TOO_SHORT = "too short to judge"
UNSTEADY = "too unsteady to judge"
OUTSIDE = "not in the recording"
Point = tuple[float, float]  # seconds on the track's clock, cents from the written pitch


@dataclass(frozen=True)
class HeardNote:
    """One written note. Times in ms count from when it is due, late is positive."""

    index: int  # among the timeline's notes, as its JSON lists them
    note: TimelineNote
    verdict: str
    cents: float | None = None  # from the written pitch; with vibrato, its centre
    spread_cents: float | None = None  # the truth lies within twice this, 19 times in 20
    onset_ms: float | None = None
    fresh_bow: bool = False
    vibrato_cents: float | None = None  # to each side of the centre
    vibrato_hz: float | None = None
    from_seconds: float | None = None  # where it is held, on the track's clock
    to_seconds: float | None = None
    level_db: float | None = None
    curve: tuple[Point, ...] = ()

    @property
    def heard(self) -> bool:
        return self.verdict not in (NOT_HEARD, OUTSIDE)

    @property
    def judged(self) -> bool:
        """Whether its pitch is known, be it the written one or another."""
        return self.verdict in (JUDGED, ANOTHER)

    def data(self) -> dict[str, Any]:
        return {
            "index": self.index,
            "heard": self.heard,
            "judged": self.judged,
            "verdict": self.verdict,
            "cents": _rounded(self.cents, 2),
            "spread_cents": _rounded(self.spread_cents, 2),
            "onset_ms": _rounded(self.onset_ms, 1),
            "fresh_bow": self.fresh_bow,
            "vibrato_cents": _rounded(self.vibrato_cents, 1),
            "vibrato_hz": _rounded(self.vibrato_hz, 1),
            "from_seconds": _rounded(self.from_seconds, 3),
            "to_seconds": _rounded(self.to_seconds, 3),
        }


@dataclass(frozen=True)
class HeardShift:
    """How a shift arrived in the note that it leads to. + is on in the direction of travel."""

    into: int
    note: TimelineNote
    arrival_ms: float
    overshoot_cents: float | None
    settled_ms: float | None  # from arrival until within 5 cents of the held pitch, and staying
    slide_ms: float  # until arrival
    landing_ms: float = 0.0  # from arrival until it hardly moves
    ghost_cents: float | None = None  # of the ghost note, where it was played long enough

    def data(self) -> dict[str, Any]:
        return {
            "into": self.into,
            "arrival_ms": _rounded(self.arrival_ms, 1),
            "overshoot_cents": _rounded(self.overshoot_cents, 1),
            "settled_ms": _rounded(self.settled_ms, 0),
            "slide_ms": _rounded(self.slide_ms, 0),
            "ghost_cents": _rounded(self.ghost_cents, 1),
        }


@dataclass(frozen=True)
class Heard:
    """One pass of a track, listened to."""

    timeline: Timeline
    placed: Placed
    notes: tuple[HeardNote, ...]
    shifts: tuple[HeardShift, ...]
    leak_db: float | None = None  # of the track against the player
    remarks: tuple[str, ...] = ()
    against: str | None = None  # a temperament, where it is not the track's own
    named: Mapping[str, str] = field(default_factory=dict)  # recording, track
    has_check: bool = True  # whether there is a check track of it

    def data(self) -> dict[str, Any]:
        placed = self.placed

        def no_moment(name: str) -> dict[str, None]:
            return {name: None} if placed.dropped else {}

        return {
            "format": FORMAT,
            **self.named,
            "title": self.timeline.title,
            "key": self.timeline.key,
            "string": self.timeline.string,
            "bpm": self.timeline.bpm,
            "stage": self.timeline.stage,
            "judged_against": self.against or self.timeline.temperament,
            "a4_hz": self.timeline.a4_hz,
            "notes": [each.data() | no_moment("onset_ms") for each in self.notes],
            "shifts": [each.data() | no_moment("arrival_ms") for each in self.shifts],
            "align": {
                "offset_seconds": round(placed.offset_seconds, 6),
                "ppm": _rounded(placed.ppm, 2),
                "how": placed.how,
                "strength": round(placed.strength, 1),
                "dropped": placed.dropped,
                "leak_db": _rounded(self.leak_db, 1),
            },
            "remarks": list(self.remarks),
        }


def _rounded(value: float | None, digits: int) -> float | None:
    return None if value is None else round(float(value), digits)
