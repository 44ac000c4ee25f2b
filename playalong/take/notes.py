"""One note in a recording, around the pitch that it holds: when it begins, and its vibrato."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from playalong.take import bows
from playalong.take.holds import Hold
from playalong.take.spectra import HOP_SECONDS, Floats, Spectra
from playalong.take.vibrato import Vibrato, swinging, vibrato

BEFORE_SECONDS, AFTER_SECONDS = 0.25, 0.05  # what is looked at around the written note
NEAR_CENTS = 50.0  # arrived
MOSTLY = 0.8  # of what is held is near, unless something else hides it
GAP_TIMES = 3  # that may lie apart within a note
QUIET_DB = 20.0  # below the held level it no longer sounds
STEADY_CENTS = 45.0  # from the middle of a note
LEAST_STEADY, LEAST_TIMES = 4, 8  # rows to tell anything of, and to judge
ROOM = 1.4  # beyond a wide vibrato
WIDE_CENTS, WIDEST_CENTS = 30.0, 130.0  # vibrato to each side, and from a turning point
MOST_SPREAD_CENTS = 30.0
SAME_CENTS = 60.0
AGAIN_SHARE = 0.45  # of a note, in which it begins
JUMP_CENTS = 60.0  # from one row to the next, which no slide makes


@dataclass(frozen=True)
class Shape:
    """A note from its arrival to its departure. `cents` count from the written pitch."""

    cents: float
    spread_cents: float | None
    arrival_seconds: float
    from_seconds: float
    to_seconds: float
    fresh_bow: bool
    has_onset: bool  # not where the same pitch goes on, or comes again, nor where a leak hides it
    judged: bool
    vibrato_cents: float
    vibrato_hz: float | None
    arrival: int  # row of the spectra
    course: Floats  # cents from the written pitch at every row
    curve: tuple[tuple[float, float], ...]  # seconds and cents where it sounds, slide and all


def level_db(spectra: Spectra, hz: float, rows: slice) -> Floats:
    return np.asarray(10 * np.log10(spectra.powers(hz, rows).sum(0) + 1e-12))


def shaped(
    spectra: Spectra,
    hz: float,
    from_seconds: float,
    to_seconds: float,
    hold: Hold,
    before_hz: float | None,
) -> Shape:
    """The note around its hold. `before_hz` is the pitch that was held in the note before."""
    course, is_hidden = _followed(spectra, hz * 2 ** (hold.cents / 1200), hold)
    sway = _sway(course[hold.rows])
    hold, course = replace(hold, cents=hold.cents + sway.centre_cents), course - sway.centre_cents
    own_hz = hz * 2 ** (hold.cents / 1200)
    level = level_db(spectra, own_hz, slice(0, len(spectra)))
    full = float(np.median(level[hold.rows]))
    near = np.abs(course) < max(NEAR_CENTS, ROOM * sway.cents)
    near &= level > full - QUIET_DB
    middle = (hold.rows.start + hold.rows.stop) // 2
    middle = middle if near[middle] else hold.rows.start
    first, last = _run(near, middle)
    same = before_hz is not None and abs(1200 * np.log2(before_hz / own_hz)) < SAME_CENTS
    was_quiet = bool((level[max(first - GAP_TIMES, 0) : first] < full - QUIET_DB).all())
    has_pitch_start = first > 0 and (not same or was_quiet)
    was_there = int(near[hold.rows.start : first].sum()) >= LEAST_TIMES
    if has_pitch_start:
        row = first + _crossing(course, first)
        bow = bows.rise(level - full, hold.rows.start)
        fresh = (
            before_hz is None
            or same
            or bows.is_fresh(bow, spectra.loudness_db, level - full, course, first)
        )
        around = (first - bows.BEFORE_PITCH_ROWS, first + bows.AFTER_PITCH_ROWS)
    else:
        row = float(spectra.place(from_seconds))
        before, after = bows.AGAIN_SECONDS
        after = min(after, AGAIN_SHARE * (to_seconds - from_seconds))
        bow = bows.again(
            level - full, spectra.place(from_seconds - before), spectra.place(from_seconds + after)
        )
        fresh = bow.rise_db > bows.AGAIN_DB
        around = (bow.row - bows.AROUND_RISE_ROWS, bow.row + bows.AROUND_RISE_ROWS)
    if fresh:
        row = bows.begun(spectra, *around)
    arrival = int(np.clip(round(row), 0, last))
    arrived = spectra.seconds(row)
    end = last - round(0.03 / HOP_SECONDS)
    held_from = arrival + round(max(0.06 / HOP_SECONDS, 0.4 * (end - arrival)))
    if end - held_from < 4:
        held_from = arrival + max((end - arrival) // 3, 1)
    part = course[held_from:end]
    middle_cents = float(np.median(part)) if len(part) else 0.0
    steady = np.abs(part - middle_cents) < max(STEADY_CENTS, ROOM * sway.cents)
    swings, spread = Vibrato(), None
    if steady.sum() >= LEAST_STEADY:
        times = np.flatnonzero(steady) * HOP_SECONDS
        swings = swinging(np.asarray(times, float), part[steady])
        looks = max(len(times) * HOP_SECONDS / 0.05, 1)
        deviation = float(np.std(part[steady]))
        spread = 1.2 * deviation / np.sqrt(looks) + 0.35  # as takes of known truth came out
    judged = steady.sum() >= LEAST_TIMES and swings.rest_cents < MOST_SPREAD_CENTS
    return Shape(
        cents=hold.cents + swings.centre_cents,
        spread_cents=spread,
        arrival_seconds=arrived,
        from_seconds=spectra.seconds(held_from),
        to_seconds=spectra.seconds(last),
        fresh_bow=fresh,
        has_onset=(fresh or has_pitch_start) and not is_hidden and not was_there,
        judged=judged,
        vibrato_cents=swings.cents,
        vibrato_hz=swings.hz,
        arrival=arrival,
        course=course + hold.cents,
        curve=_curve(spectra, course + hold.cents, level > full - QUIET_DB, first, last),
    )


def _followed(spectra: Spectra, hz: float, hold: Hold) -> tuple[Floats, bool]:
    """Cents from the held pitch at every row, and whether a leaking note hides it.

    That note is not followed; where the pitch is not held, nothing of it is known then.
    """
    course = spectra.followed(hz, slice(0, len(spectra)))
    is_hidden = float(np.mean(np.abs(course[hold.rows]) < NEAR_CENTS)) < MOSTLY
    if is_hidden:
        course[hold.rows] = spectra.followed(hz, hold.rows, reach_cents=round(NEAR_CENTS))
    return course, is_hidden


def _sway(held: Floats) -> Vibrato:
    """A vibrato so wide that the pitch held longest is its turning point, not its centre."""
    times = np.flatnonzero(np.abs(held) < WIDEST_CENTS) * HOP_SECONDS
    if len(times) < LEAST_TIMES:
        return Vibrato()
    found = vibrato(np.asarray(times, float), held[np.abs(held) < WIDEST_CENTS])
    return found if found.cents > WIDE_CENTS else Vibrato()


def _run(near: NDArray[np.bool_], middle: int) -> tuple[int, int]:
    """First and last place of the run around `middle` that has no longer gap than GAP_TIMES."""
    first = last = middle
    for place in range(middle, -1, -1):
        if near[place]:
            first = place
        elif first - place > GAP_TIMES:
            break
    for place in range(middle, len(near)):
        if near[place]:
            last = place
        elif place - last > GAP_TIMES:
            break
    return first, last


def _curve(
    spectra: Spectra, course: Floats, sounding: NDArray[np.bool_], first: int, last: int
) -> tuple[tuple[float, float], ...]:
    """Back from the arrival as far as the pitch moves without a jump, and on to the end."""
    begin = first
    while begin > 0 and sounding[begin - 1] and abs(course[begin] - course[begin - 1]) < JUMP_CENTS:
        begin -= 1
    return tuple(
        (round(spectra.seconds(row), 4), round(float(course[row]), 1))
        for row in range(begin, last + 1)
        if sounding[row]
    )


def _crossing(course: Floats, first: int) -> float:
    """How far before its first near row the course came near, in rows: 0 to -1."""
    before, after = course[first - 1], course[first]
    if abs(before) <= NEAR_CENTS or np.sign(before) != np.sign(before - after):
        return 0.0
    return float((abs(before) - NEAR_CENTS) / (abs(before - after) + 1e-9)) - 1
