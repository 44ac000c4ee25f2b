"""Rendered pitch of the bank that ships, measured by Praat (Boersma 1993), a stranger's ear."""

from __future__ import annotations

import math

import mido
import numpy as np
import parselmouth
import pytest

from playalong.performance.clock import BLOCK_FRAMES, SAMPLE_RATE_HZ
from playalong.shipped import own_bank
from playalong.sound.synth import render

TICKS = 689  # a quarter; with TEMPO a tick is a block
TEMPO = round(TICKS * BLOCK_FRAMES * 1_000_000 / SAMPLE_RATE_HZ)
BLOCKS = 1034  # 1.5 s
VIOLIN, VIOLA, CELLO = 40, 41, 42

# Cents from the equal-tempered key: just and pythagorean degrees, A4 = 415 and 442, half a bend
# range, and a fraction that no whole cent is near.
OFFSETS_CENTS = (-101.27, -21.51, -13.69, 0.0, 3.91, 7.85, 55.5, 600.0)


@pytest.mark.parametrize("cents", OFFSETS_CENTS)
@pytest.mark.parametrize(("program", "key"), [(VIOLIN, 69), (VIOLIN, 83), (VIOLA, 55), (CELLO, 50)])
def test_a_held_note_is_true_to_a_tenth_of_a_cent(program: int, key: int, cents: float) -> None:
    bend = round(cents * 8192 / 1200)
    messages = [
        mido.MetaMessage("set_tempo", tempo=TEMPO),
        mido.Message("program_change", program=program),
        *(
            mido.Message("control_change", control=control, value=value)
            for control, value in ((101, 0), (100, 0), (6, 12), (38, 0))
        ),
        mido.Message("pitchwheel", pitch=bend),
        mido.Message("note_on", note=key, velocity=90),
    ]
    midi = mido.MidiFile(ticks_per_beat=TICKS, tracks=[mido.MidiTrack(messages)])
    sound = np.concatenate(list(render(midi, own_bank(), frozenset({0}), BLOCKS)))
    expected_hz = 440 * 2 ** ((key - 69) / 12 + bend * 1200 / 8192 / 1200)

    heard = parselmouth.Sound(sound.astype(np.float64), SAMPLE_RATE_HZ).to_pitch_ac(
        time_step=0.01,
        pitch_floor=min(expected_hz / 2, 30),  # six periods of it: the bow's noise comes out even
        pitch_ceiling=expected_hz * 2,
        very_accurate=True,
    )
    at = np.arange(0.4, 1.3, 0.01)
    hz = np.array([heard.get_value_at_time(seconds) for seconds in at])
    off_cents = 1200 * np.log2(hz / expected_hz)
    assert abs(float(np.mean(off_cents))) < 0.1
    assert math.isfinite(float(np.max(off_cents)))
