"""Which note is held, of tones whose partials are known."""

from __future__ import annotations

import numpy as np
import pytest

from playalong.take.holds import held
from playalong.take.spectra import Spectra, window_frames

RATE_HZ = 44_100
LOW_HZ = 123.47  # B2
# dB of partials, as measured in takes: of a cello's note that is weak there, and of two notes whose
# bass a filter of 150 Hz took away.
WITHOUT_BASS = [
    [16, 44, 12, 23, 10, 25, 25, 21],
    [-12, 24, 23, 28, 20, 20, 17, 17],
    [0, 39, 31, 36, 22, 23, 16, 18],
]


def seen(hz, partials_db, seconds=0.6):
    t = np.arange(round(seconds * RATE_HZ)) / RATE_HZ
    sizes = 10 ** ((np.array(partials_db) - 50) / 20)
    sound = sum(a * np.sin(2 * np.pi * n * hz * t + n * n) for n, a in enumerate(sizes, 1))
    sound += 1e-4 * np.random.default_rng(1).standard_normal(len(t))
    window = window_frames(hz)
    before = np.zeros(window // 2)
    return Spectra.of(np.concatenate([before, sound, before]).astype(np.float32), 0.0, window)


def told_cents(hz, partials_db, written_hz):
    return held(seen(hz, partials_db), written_hz, 0.0, 0.6).cents


@pytest.mark.parametrize("partials_db", WITHOUT_BASS)
def test_a_microphone_that_loses_the_bass_makes_no_note_an_octave_higher(partials_db):
    assert told_cents(LOW_HZ, partials_db, LOW_HZ) == pytest.approx(0, abs=2)


@pytest.mark.parametrize("octave", [-1, 1])
@pytest.mark.parametrize("hz", [LOW_HZ, 440.0])
def test_a_tone_an_octave_off_is_held_there(octave, hz):
    falling = [44 - 4 * n for n in range(10)]
    assert told_cents(hz * 2**octave, falling, hz) == pytest.approx(1200 * octave, abs=2)


@pytest.mark.parametrize("cents", [-300, -48, 0, 48, 500])
def test_the_pitch_that_is_held_is_told_within_a_cent(cents):
    falling = [44 - 4 * n for n in range(10)]
    assert told_cents(440 * 2 ** (cents / 1200), falling, 440.0) == pytest.approx(cents, abs=1)
