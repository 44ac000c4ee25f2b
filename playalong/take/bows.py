"""Fresh bows: whether a note has one, and when it begins.

It begins where the spectrum grows most (spectral flux; Bello et al. 2005), not where a level is
passed: a room, a string that rings on and a leaking track hide levels, and hardly what is new. On
600 bows of recorded notes, slow attacks and sudden ones, that was told within 9 ms in the mean,
levels within 17.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from playalong.take.spectra import HOP_SECONDS, LOW_WINDOW, Floats, Spectra

PITCH_CENTS = 50.0  # within which a pitch is the note's
STRONG_DB = 12.0  # below the held level, on a bow's way up
RISE_DB = 5.0  # of a fresh bow, at its own pitch
DIP_SECONDS = 0.35  # before the hold, where it may begin
BREAK_DB = 1.5  # by which all sound falls between two bows, or half of which it still grows after
CLEAR_BREAK_DB = 3.0  # where partials of what sounds on hide the rise
GROWING_ROWS, GROWING_SHARE = 5, 0.5  # 25 ms after the pitch is there
LEAP_ROWS, LEAP_SHARE = 6, 0.5  # of the way between two pitches in one row: no slide
BEFORE_PITCH_ROWS, AFTER_PITCH_ROWS = 16, 3  # where a bow begins, by where its pitch is there
AROUND_RISE_ROWS = 10  # and by where its own pitch rises again
AGAIN_SECONDS = (0.15, 0.2)  # before and after it is due, where a pitch that goes on is bowed anew
AGAIN_DB = 6.0  # by which it falls and rises there: 71 of 100 such bows, and 11 without
FALL_ROWS, RISE_ROWS = 20, 15
GROWN_HZ = (100.0, 3000.0)
GROWN_POWER = 0.2  # of sizes, so that weak partials count as well
GROWN_ROWS = (6, 10)  # over which it grows, by the window
GROWN_LATE_SECONDS = 0.0022  # by which it grows most after a bow began: -2 if sudden, 7 if slow


@dataclass(frozen=True)
class Rise:
    """What may be a fresh bow: the row before it is strong, and by how many dB it rises."""

    row: int
    rise_db: float


def rise(below_db: Floats, held_from: int) -> Rise:
    """The rise into a hold, from the level at each row against the held level."""
    back = max(held_from - round(DIP_SECONDS / HOP_SECONDS), 0)
    dip = back + int(np.argmin(below_db[back : held_from + 1]))
    row = held_from
    while row > dip and below_db[row] > -STRONG_DB:
        row -= 1
    return Rise(row, -float(below_db[dip]))


def again(below_db: Floats, first: int, last: int) -> Rise:
    """Where a pitch that goes on falls and rises most, between two rows."""
    dip = first + int(np.argmin(below_db[first : last + 1]))
    before, after = below_db[max(dip - FALL_ROWS, 0) : dip + 1], below_db[dip : dip + RISE_ROWS]
    return Rise(dip, float(min(before.max(), after.max()) - below_db[dip]))


def growth(spectra: Spectra) -> Floats:
    """How much grows around each row, of all that sounds."""
    band = slice(*(int(hz / spectra.bin_hz) for hz in GROWN_HZ))
    sizes = spectra.sizes[:, band] ** np.float32(GROWN_POWER)
    rows = GROWN_ROWS[spectra.window >= LOW_WINDOW]
    grown = np.zeros(len(sizes))
    grown[rows // 2 : -rows // 2] = np.maximum(sizes[rows:] - sizes[:-rows], 0).sum(1)
    return grown


def begun(spectra: Spectra, first: int, last: int) -> float:
    """Where a bow begins between two rows, in rows."""
    grown = growth(spectra)
    first, last = max(first, 1), min(last, len(grown) - 2)
    row = first + int(np.argmax(grown[first : last + 1]))
    left, top, right = grown[row - 1 : row + 2]
    between = np.clip(0.5 * (left - right) / (left - 2 * top + right - 1e-9), -0.5, 0.5)
    return float(row + between - GROWN_LATE_SECONDS / HOP_SECONDS)


def is_fresh(bow: Rise, loudness_db: Floats, below_db: Floats, course: Floats, first: int) -> bool:
    """Whether a note that is at its pitch from the row `first` on is bowed anew, not slurred.

    `below_db` is its level against the held one, `course` its cents.
    """
    grows_db = -float(below_db[first : first + GROWING_ROWS].max())
    broken_db = _dip_db(loudness_db, first) + GROWING_SHARE * grows_db
    least_db = BREAK_DB if bow.rise_db > RISE_DB else CLEAR_BREAK_DB
    return broken_db > least_db and _leaps(course, first)


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
