"""The pitch that is held longest within a note's written time, an octave off and all."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from playalong.take.spectra import Floats, Spectra

ALIKE_CENTS = 40.0  # of one held pitch
NEAR_CENTS = 50.0  # of the written pitch, or of an octave from it
PARTIALS = 8
FULLER_DB = 3.0  # by which partials near the written pitch must be fuller to be the note after all
OCTAVE_CENTS = 1200
# An octave lower, the comb of the written pitch finds every second partial, and as much between.
# In 366 notes that were no octave off, one partial more made it at most 1.5 dB fuller at a leak of
# -10 dB; in 58 that were, 2.9 or more in nine of ten.
OCTAVE_FULLER_DB = 2.5
ODD_DB = 9.0  # by which a tone's odd partials may be less than its even ones
AS_CLEAR = 0.7  # against between the partials
# An octave higher, the written pitch has no odd partials: 27 dB less than even ones, 10 where they
# leak; in other notes 8 dB at most, and 16 where a microphone loses the bass. Of 2,198 such notes
# three lacked what lies between two even partials as well, of notes an octave higher nine of ten.
NO_ODD_DB = 10.0
HIGHER_FULLER_DB = 2.0


@dataclass(frozen=True)
class Hold:
    """The pitch that is held longest within a note's written time."""

    cents: float
    rows: slice  # of the spectra
    share: float  # of the written time that is looked at
    times: int


def held(
    spectra: Spectra,
    hz: float,
    from_seconds: float,
    to_seconds: float,
    may_be_below: bool = True,
) -> Hold | None:
    """Without `may_be_below` it is no octave low: what would fill its partials is not played."""
    length = to_seconds - from_seconds
    first = spectra.place(from_seconds + max(0.2 * length, 0.05))
    last = spectra.place(to_seconds - max(0.03, 0.1 * length))
    if last - first < 3:
        return None
    rows = slice(first, last)
    found = _longest(spectra.followed(hz, rows), first)
    full_db = _filled_db(spectra, hz, found, rows)
    if abs(found.cents) > NEAR_CENTS:
        near = _near(spectra, hz, 0, rows)
        near_db = _filled_db(spectra, hz, near, rows)
        if near_db.mean() > full_db.mean() + FULLER_DB:
            found, full_db = near, near_db
    if abs(found.cents) <= NEAR_CENTS and _has_no_odd(full_db):
        above = _near(spectra, hz, OCTAVE_CENTS, rows)
        above_db = _filled_db(spectra, hz, above, rows)
        half = PARTIALS // 2
        if above_db[:half].mean() > full_db[:half].mean() + HIGHER_FULLER_DB:
            return above
    if not may_be_below:
        return found
    below = _near(spectra, hz, -OCTAVE_CENTS, rows)
    below_db = _filled_db(spectra, hz, below, rows)
    is_fuller = below_db.mean() > full_db.mean() + OCTAVE_FULLER_DB and _odd_db(below_db) > -ODD_DB
    if not is_fuller:
        return found
    clear, least = (_clearness(spectra, hz, each, rows) for each in (below, found))
    return below if clear > AS_CLEAR * least else found


def _near(spectra: Spectra, hz: float, cents: int, rows: slice) -> Hold:
    """What is held within half a step of so many cents from a pitch."""
    course = spectra.followed(hz * 2 ** (cents / 1200), rows, reach_cents=round(NEAR_CENTS))
    return _longest(course + cents, rows.start)


def _filled_db(spectra: Spectra, hz: float, hold: Hold, rows: slice) -> Floats:
    """How full each partial is: a comb that every third tooth of another fits has gaps."""
    powers = spectra.powers(hz * 2 ** (hold.cents / 1200), rows, PARTIALS)
    return np.asarray(10 * np.log10(np.median(powers, 1) + 1e-12))


def _clearness(spectra: Spectra, hz: float, hold: Hold, rows: slice) -> float:
    return float(np.median(spectra.comb(np.array([hold.cents]), hz, rows)))


def _odd_db(filled_db: Floats) -> float:
    """How much fuller odd partials are than even ones."""
    even = filled_db[1::2]
    return float(filled_db[::2].mean() - even.mean()) if len(even) else 0.0


def _has_no_odd(filled_db: Floats) -> bool:
    odd, below, above = filled_db[2:-1:2], filled_db[1:-2:2], filled_db[3::2]
    dents_db = (below + above) / 2 - odd
    is_between = not len(odd) or bool(dents_db.mean() > NO_ODD_DB and dents_db.min() > 0)
    return is_between and _odd_db(filled_db) < -NO_ODD_DB


def _longest(course: Floats, first: int) -> Hold:
    """`course` begins at the row `first`."""
    alike = np.abs(course[:, None] - course) < ALIKE_CENTS
    most = alike[alike.sum(1).argmax()]
    where = np.flatnonzero(most)
    rows = slice(first + int(where[0]), first + int(where[-1]) + 1)
    return Hold(float(np.median(course[most])), rows, float(most.mean()), int(most.sum()))
