"""When a note begins, of tones that are known."""

from __future__ import annotations

import numpy as np
import pytest

from playalong.take.holds import held
from playalong.take.notes import shaped
from playalong.take.spectra import WINDOW, Spectra

RATE_HZ = 44_100
BEFORE_HZ, HZ, OTHER_HZ = 392.0, 440.0, 600.0
BEGINS, ENDS = 0.3, 1.9
FRESH_BOW_SECONDS = 0.02  # of the 10 to 40 ms to which the report says that its moment is known


def tone(t, hz, begins, ends):
    grown = np.clip(np.minimum(t - begins, ends - t) / 0.01, 0, 1)
    return grown * sum(np.sin(2 * np.pi * n * hz * t) / n for n in range(1, 8))


def note(*others):
    """A note after another, and what else sounds: seconds from and to of a louder tone."""
    t = np.arange(round(2.0 * RATE_HZ)) / RATE_HZ
    sound = tone(t, BEFORE_HZ, 0.0, BEGINS) + tone(t, HZ, BEGINS, ENDS)
    for begins, ends in others:
        sound += 8 * tone(t, OTHER_HZ, begins, ends)
    whole = np.pad(0.02 * sound, WINDOW // 2).astype(np.float32)
    whole += 1e-4 * np.random.default_rng(3).standard_normal(len(whole)).astype(np.float32)
    seen = Spectra.of(whole, 0.0, WINDOW)
    hold = held(seen, HZ, BEGINS, ENDS)
    return shaped(seen, HZ, BEGINS, ENDS, hold, BEFORE_HZ)


def test_a_note_begins_where_its_pitch_does():
    shape = note()
    assert shape.has_onset
    assert shape.arrival_seconds == pytest.approx(BEGINS, abs=FRESH_BOW_SECONDS)


def test_a_note_that_something_louder_hides_for_a_while_does_not_begin_after_it():
    """It is heard on both sides, so when it began is not known from where it is heard again."""
    shape = note((0.8, 1.0))
    assert not shape.has_onset
    assert shape.cents == pytest.approx(0, abs=1)
