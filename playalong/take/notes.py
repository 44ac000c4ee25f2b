"""One note in a recording: the pitch that is held longest, when it begins, and its vibrato."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from playalong.take.spectra import HOP_SECONDS, Floats, Spectra

BEFORE_SECONDS, AFTER_SECONDS = 0.25, 0.05  # what is looked at around the written note
ALIKE_CENTS = 40.0  # of one held pitch
NEAR_CENTS = 50.0  # arrived
GAP_TIMES = 3  # that may lie apart within a note
QUIET_DB = 20.0  # below the held level it no longer sounds
VIBRATO_HZ = np.arange(4.0, 8.01, 0.2)
LEAST_VIBRATO_CENTS = 4.0
VIBRATO_SECONDS = 0.28
LEAST_TIMES = 8  # to judge
MOST_SPREAD_CENTS = 30.0
HALF_DB, STRONG_DB, SOFT_DB = 6.0, 12.0, 18.0  # below the held level, on a bow's way up
RISE_DB = 5.0  # of a fresh bow on the pitch that sounded before
DIP_SECONDS = 0.35  # before the hold, where it may begin
GROWING_DB = 4.0  # below the held level 25 ms after the pitch is there
BREAK_DB = 2.0  # by which all sound falls between two bows
SAME_CENTS = 60.0
JUMP_CENTS = 60.0  # from one row to the next, which no slide makes
BOW_ROWS = 10  # a bow begins so near to where its pitch is first there


@dataclass(frozen=True)
class Hold:
    """The pitch that is held longest within a note's written time."""

    cents: float
    rows: slice  # of the spectra
    share: float  # of the written time that is looked at
    times: int


@dataclass(frozen=True)
class Shape:
    """A note from its arrival to its departure. `cents` count from the written pitch."""

    cents: float
    spread_cents: float | None
    arrival_seconds: float
    from_seconds: float
    to_seconds: float
    fresh_bow: bool
    has_onset: bool  # not where the note before goes on at the same pitch
    judged: bool
    vibrato_cents: float
    vibrato_hz: float | None
    arrival: int  # row of the spectra
    course: Floats  # cents from the written pitch at every row
    curve: tuple[tuple[float, float], ...]  # seconds and cents where it sounds, slide and all


def held(spectra: Spectra, hz: float, from_seconds: float, to_seconds: float) -> Hold | None:
    length = to_seconds - from_seconds
    first = spectra.place(from_seconds + max(0.2 * length, 0.05))
    last = spectra.place(to_seconds - max(0.03, 0.1 * length))
    if last - first < 3:
        return None
    course = spectra.followed(hz, slice(first, last))
    alike = np.abs(course[:, None] - course) < ALIKE_CENTS
    most = alike[alike.sum(1).argmax()]
    where = np.flatnonzero(most)
    rows = slice(first + int(where[0]), first + int(where[-1]) + 1)
    return Hold(float(np.median(course[most])), rows, float(most.mean()), int(most.sum()))


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
    own_hz = hz * 2 ** (hold.cents / 1200)
    course = spectra.followed(own_hz, slice(0, len(spectra)))
    level = level_db(spectra, own_hz, slice(0, len(spectra)))
    full = float(np.median(level[hold.rows]))
    near = (np.abs(course) < NEAR_CENTS) & (level > full - QUIET_DB)
    middle = (hold.rows.start + hold.rows.stop) // 2
    middle = middle if near[middle] else hold.rows.start
    first, last = _run(near, middle)
    same = before_hz is not None and abs(1200 * np.log2(before_hz / own_hz)) < SAME_CENTS
    bow = _bow(level - full, hold.rows.start if first else middle)
    if same or first == 0:
        fresh, row = bow.rise_db > RISE_DB, float(spectra.place(from_seconds))
    else:
        grows = level[first : first + 5].max() < full - GROWING_DB
        broken = _dip_db(spectra.loudness_db, first) > BREAK_DB
        fresh = bow.rise_db > RISE_DB and bool(grows or broken)
        row = first + _crossing(course, first)
    if fresh and not (same or first == 0):
        row = float(np.clip(bow.row, first - BOW_ROWS, first + BOW_ROWS))
    elif fresh:
        row = bow.row
    arrival = int(np.clip(round(row), 0, last))
    arrived = spectra.seconds(row)
    end = last - round(0.03 / HOP_SECONDS)
    held_from = arrival + round(max(0.06 / HOP_SECONDS, 0.4 * (end - arrival)))
    if end - held_from < 4:
        held_from = arrival + max((end - arrival) // 3, 1)
    part = course[held_from:end]
    steady = np.abs(part - np.median(part)) < 45 if len(part) else np.zeros(0, bool)
    if steady.sum() < 4:
        centre, size, rate, spread = 0.0, 0.0, None, None
    else:
        times = np.arange(len(part))[steady] * HOP_SECONDS
        centre, size, rate = vibrato(np.asarray(times, float), part[steady])
        deviation = float(np.std(part[steady]))
        looks = max(len(times) * HOP_SECONDS / 0.05, 1)
        spread = 1.2 * deviation / np.sqrt(looks) + 0.35  # as takes of known truth came out
    judged = spread is not None and steady.sum() >= LEAST_TIMES and deviation < MOST_SPREAD_CENTS
    return Shape(
        cents=hold.cents + centre,
        spread_cents=spread,
        arrival_seconds=arrived,
        from_seconds=spectra.seconds(held_from),
        to_seconds=spectra.seconds(last),
        fresh_bow=fresh,
        has_onset=fresh or not (same or first == 0),
        judged=judged,
        vibrato_cents=size,
        vibrato_hz=rate,
        arrival=arrival,
        course=course + hold.cents,
        curve=_curve(spectra, course + hold.cents, level > full - QUIET_DB, first, last),
    )


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


@dataclass(frozen=True)
class _Bow:
    """A fresh bow: where it begins, in rows, and by how many dB it rises."""

    row: float
    rise_db: float


def _bow(below_db: Floats, held_from: int) -> _Bow:
    """The rise into a hold, from the level at each row against the held level.

    A window as long as ours smears a sudden start, and a soft one takes its time. Both are undone
    by how long the rise from -18 to -12 dB takes. The figures come from bows whose start is known:
    recorded attacks, and starts within 5 to 60 ms.
    """
    back = max(held_from - round(DIP_SECONDS / HOP_SECONDS), 0)
    dip = back + int(np.argmin(below_db[back : held_from + 1]))
    rise = -float(below_db[dip])
    if rise <= STRONG_DB:
        return _Bow(float(dip), rise)
    row = held_from
    while row > dip and below_db[row] > -STRONG_DB:
        row -= 1
    strong = _reached(below_db, row, -STRONG_DB)
    soft = row
    while soft > dip and below_db[soft] > -SOFT_DB:
        soft -= 1
    if below_db[soft] > -SOFT_DB:  # another sound hides it
        half = row
        while half < len(below_db) - 2 and below_db[half + 1] < -HALF_DB:
            half += 1
        length = min(_reached(below_db, half, -HALF_DB) - strong, 0.15 / HOP_SECONDS)
        return _Bow(strong - 0.42 * length - 0.002 / HOP_SECONDS, rise)
    start = _reached(below_db, soft, -SOFT_DB)
    length = min(strong - start, 0.1 / HOP_SECONDS)
    return _Bow(start - 0.83 * length + 0.001 / HOP_SECONDS, rise)


def _dip_db(loudness_db: Floats, first: int) -> float:
    """How far all sound falls between two notes: hardly in a slur, clearly between two bows."""
    near = round(DIP_SECONDS / 4 / HOP_SECONDS)
    before, after = loudness_db[max(first - near, 0) : first], loudness_db[first : first + near]
    if not len(before) or not len(after):
        return 0.0
    lowest = min(float(before[len(before) // 2 :].min()), float(after[: near // 4 + 1].min()))
    return min(float(np.median(before[: len(before) // 2 + 1])), float(np.median(after))) - lowest


def _reached(below_db: Floats, row: int, level_db: float) -> float:
    """Where between a row and the next a level is passed."""
    step = below_db[row + 1] - below_db[row]
    return row + float(np.clip((level_db - below_db[row]) / (step + 1e-9), 0, 1))


def _crossing(course: Floats, first: int) -> float:
    """How far before its first near row the course came near, in rows: 0 to -1."""
    before, after = course[first - 1], course[first]
    if abs(before) <= NEAR_CENTS or np.sign(before) != np.sign(before - after):
        return 0.0
    return float((abs(before) - NEAR_CENTS) / (abs(before - after) + 1e-9)) - 1


def vibrato(times: Floats, cents: Floats) -> tuple[float, float, float | None]:
    """Centre, extent to each side and rate of the best sinusoid of 4 to 8 Hz, if there is one."""
    best: tuple[float, float, float | None] = (float(np.mean(cents)), 0.0, None)
    if times[-1] - times[0] < VIBRATO_SECONDS:
        return best
    left = 0.5 * float(((cents - cents.mean()) ** 2).sum())
    for rate in VIBRATO_HZ:
        turn = 2 * np.pi * rate * times
        parts = np.stack([np.ones_like(times), np.sin(turn), np.cos(turn)], 1)
        found, rest = np.linalg.lstsq(parts, cents, rcond=None)[:2]
        size = float(np.hypot(found[1], found[2]))
        if len(rest) and rest[0] < left and size > LEAST_VIBRATO_CENTS:
            left, best = float(rest[0]), (float(found[0]), size, float(rate))
    return best
