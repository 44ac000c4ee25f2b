"""Fresh bows: whether a note has one, and when it begins."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from playalong.take.spectra import HOP_SECONDS, Floats

PITCH_CENTS = 50.0  # within which a pitch is the note's
HALF_DB, STRONG_DB, SOFT_DB = 6.0, 12.0, 18.0  # below the held level, on a bow's way up
RISE_DB = 5.0  # of a fresh bow, at its own pitch
DIP_SECONDS = 0.35  # before the hold, where it may begin
BREAK_DB = 1.5  # by which all sound falls between two bows, or half of which it still grows after
CLEAR_BREAK_DB = 3.0  # where partials of what sounds on hide the rise
HIDDEN_ROWS = 2.5  # by which the pitch then comes after its bow
GROWING_ROWS, GROWING_SHARE = 5, 0.5  # 25 ms after the pitch is there
LEAP_ROWS, LEAP_SHARE = 6, 0.5  # of the way between two pitches in one row: no slide
BOW_ROWS = 10  # a bow begins so near to where its pitch is first there


@dataclass(frozen=True)
class Rise:
    """What may be a fresh bow: where it begins, in rows, and by how many dB it rises."""

    row: float
    rise_db: float


def rise(below_db: Floats, held_from: int) -> Rise:
    """The rise into a hold, from the level at each row against the held level.

    A window as long as ours smears a sudden start, and a soft one takes its time. Both are undone
    by how long the rise from -18 to -12 dB takes. The figures come from bows whose start is known:
    recorded attacks, and starts within 5 to 60 ms.
    """
    back = max(held_from - round(DIP_SECONDS / HOP_SECONDS), 0)
    dip = back + int(np.argmin(below_db[back : held_from + 1]))
    rise_db = -float(below_db[dip])
    if rise_db <= STRONG_DB:
        return Rise(float(dip), rise_db)
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
        return Rise(strong - 0.42 * length - 0.002 / HOP_SECONDS, rise_db)
    start = _reached(below_db, soft, -SOFT_DB)
    length = min(strong - start, 0.1 / HOP_SECONDS)
    return Rise(start - 0.83 * length + 0.001 / HOP_SECONDS, rise_db)


def begins(
    bow: Rise, loudness_db: Floats, below_db: Floats, course: Floats, first: int
) -> float | None:
    """Where a fresh bow begins, in rows, on a note that is at its pitch from the row `first` on.

    None where it is slurred. `below_db` is its level against the held one, `course` its cents.
    """
    grows_db = -float(below_db[first : first + GROWING_ROWS].max())
    broken_db = _dip_db(loudness_db, first) + GROWING_SHARE * grows_db
    is_clear = bow.rise_db > RISE_DB
    if broken_db <= (BREAK_DB if is_clear else CLEAR_BREAK_DB) or not _leaps(course, first):
        return None
    if is_clear:
        return float(np.clip(bow.row, first - BOW_ROWS, first + BOW_ROWS))
    return first - HIDDEN_ROWS


def _leaps(course: Floats, first: int) -> bool:
    """Whether the pitch comes at once: what slides in was never bowed anew."""
    near = course[max(first - LEAP_ROWS, 0) : first + LEAP_ROWS]
    way = max(abs(float(near[0])), PITCH_CENTS)
    return float(np.abs(np.diff(near)).max()) > LEAP_SHARE * way


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
