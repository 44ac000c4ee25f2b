"""How the voices of the bank start, stop and change through FluidSynth."""

from __future__ import annotations

import numpy as np
import pytest
from bank_render import BLOCK_FRAMES, DRONE, RATE_HZ, off, on, render


def speaking_ms(program: int, key: int, *, controller: int = 64) -> float:
    """From onset to 90 % of the held level, by peaks over 5 ms."""
    events = [(0, lambda synth: synth.cc(0, 73, controller)), (0, on(0, key))]
    wave = np.abs(render([(0, program)], events, 1.0)[0])
    reach = RATE_HZ // 200
    peaks = np.lib.stride_tricks.sliding_window_view(wave, reach).max(axis=1)
    steady = np.median(peaks[RATE_HZ // 2 :])
    return float((np.argmax(peaks > 0.9 * steady) + reach - 1) * 1000 / RATE_HZ)


def falling_ms(program: int, key: int, *, controller: int = 64) -> float:
    """From note-off until the level stays 20 db below the held one."""
    events = [(0, lambda s: s.cc(0, 72, controller)), (0, on(0, key)), (0.5, off(0, key))]
    wave = np.abs(render([(0, program)], events, 1.5)[0])
    frame = round(0.5 * RATE_HZ / BLOCK_FRAMES) * BLOCK_FRAMES
    loud = np.nonzero(wave > 0.1 * wave[frame - RATE_HZ // 5 : frame].max())[0]
    return float((loud[-1] - frame) * 1000 / RATE_HZ)


@pytest.mark.parametrize(("program", "key"), [(40, 62), (40, 81), (41, 62), (42, 62), (43, 62)])
def test_a_bowed_voice_speaks_in_30_to_60_ms(program: int, key: int) -> None:
    assert 30 < speaking_ms(program, key) < 60


def test_the_drone_enters_gently() -> None:
    assert 110 < speaking_ms(DRONE, 60) < 160


def test_cc_73_at_0_makes_a_note_speak_four_times_faster() -> None:
    # 2 ^ (2400 / 1200); the window of the measurement adds up to 5 ms.
    assert speaking_ms(40, 81, controller=0) < speaking_ms(40, 81) / 4 + 5


def test_a_bowed_note_stops_at_once_and_cc_72_at_100_lets_it_ring_three_times_longer() -> None:
    # Release falls 100 db in 70 ms, so 20 db in 14; 2 ^ (3600 / 1200 * 36 / 64) = 3.2 times that.
    short, long = falling_ms(40, 81), falling_ms(40, 81, controller=100)
    assert 10 < short < 20
    assert 2.7 < long / short < 3.7


def test_a_slurred_change_of_note_neither_dips_nor_swells_by_two_decibels() -> None:
    for program, old, new in ((40, 62, 64), (40, 76, 69), (41, 60, 65), (42, 57, 50)):
        change = [
            (0, on(0, old)),
            (0.6, lambda synth: synth.cc(1, 73, 0)),
            (0.6, lambda synth: synth.cc(0, 72, 100)),
            (0.6, off(0, old)),
            (0.6, on(1, new)),
        ]
        wave = render([(0, program)] * 2, change, 1.2)[0]
        window = np.hanning(RATE_HZ * 30 // 1000)
        level = 10 * np.log10(np.convolve(wave**2, window / window.sum(), "same") + 1e-12)
        held_db = np.median(level[RATE_HZ // 4 : RATE_HZ // 2])
        around = level[int(0.55 * RATE_HZ) : int(0.8 * RATE_HZ)]
        assert np.abs(around - held_db).max() < 2, (program, old, new)
