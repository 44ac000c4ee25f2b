"""How a shift arrives: when it is near, how far it went past, and how long until it is true."""

from __future__ import annotations

import numpy as np

from playalong.performance.timeline import TimelineNote
from playalong.take.model import HeardShift
from playalong.take.notes import Shape
from playalong.take.spectra import HOP_SECONDS, Floats, Spectra

SLOW = 0.35  # cents a ms: a slide that is slower has landed
MOVING = 0.3  # cents a ms: where it began
LANDING_SECONDS = 0.04
FAR_CENTS = 60.0  # what lies further is no landing
TRUE_CENTS = 5.0
STAYS_SECONDS = 0.12
LEAST_TRAVEL_CENTS = 30.0


def shift_into(
    seen: Spectra, index: int, note: TimelineNote, shape: Shape, before_hz: float | None
) -> HeardShift | None:
    """The shift into a note that the drill shifts into, if one was played."""
    from scipy.ndimage import uniform_filter1d

    slide = note.slide
    if slide is None or not slide.curve or before_hz is None or not shape.has_onset:
        return None
    if shape.arrival < 2:
        return None
    travel = 1200 * np.log2(slide.to_hz / slide.from_hz)
    if abs(travel) <= LEAST_TRAVEL_CENTS:
        return None
    course = shape.course - shape.cents
    speed = np.abs(np.diff(uniform_filter1d(course, 3))) / (HOP_SECONDS * 1000)
    arrival = min(shape.arrival, len(speed) - 1)
    landed = arrival
    middle = seen.place(shape.to_seconds)
    while landed < min(middle, len(speed) - 1) and speed[landed] > SLOW:
        landed += 1
    landing = course[landed : landed + max(round(LANDING_SECONDS / HOP_SECONDS), 3)]
    overshoot = None
    if len(landing) and np.abs(landing).max() < FAR_CENTS:
        overshoot = float(np.sign(travel) * np.mean(landing))
    began = arrival
    while began > 1 and speed[began - 1] > MOVING:
        began -= 1
    off = np.abs(course[arrival : seen.place(shape.to_seconds)])
    return HeardShift(
        into=index,
        note=note,
        arrival_ms=1000 * (shape.arrival_seconds - note.from_seconds),
        overshoot_cents=overshoot,
        settled_ms=_settled_ms(off, max(TRUE_CENTS, 1.5 * shape.vibrato_cents)),
        slide_ms=1000 * (arrival - began) * HOP_SECONDS,
        landing_ms=1000 * (landed - arrival) * HOP_SECONDS,
    )


def _settled_ms(off_cents: Floats, within_cents: float) -> float | None:
    """From arrival until it is true and stays so for a moment; None where it never does."""
    stays = round(STAYS_SECONDS / HOP_SECONDS)
    near = off_cents <= within_cents
    for row in range(len(near) - stays + 1):
        if near[row : row + stays].all():
            return 1000 * row * HOP_SECONDS
    return None
