"""The fixed body behind the strings: its gains, its phase, and that blocks do not matter."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.signal import fftconvolve, freqz

from playalong.sound.bodies import (
    BODIES,
    HIGHEST_KEY,
    LAW_STEPS,
    REACH,
    VIOLA,
    VIOLIN,
    Body,
    behind,
    impulse,
    radiation,
    softening_law,
)

RATE_HZ = 44_100
LOWEST_HZ = {40: 196.0, 41: 130.8, 42: 65.4, 43: 41.2}  # open strings, by General MIDI program


@pytest.mark.parametrize("program", BODIES)
def test_the_filter_has_the_bodys_gains_within_a_tenth_of_a_decibel(program: int) -> None:
    body = BODIES[program]
    hz = np.geomspace(2 * body.low_hz, 6_000, 200)
    _, response = freqz(impulse(body), worN=hz, fs=RATE_HZ)
    off = 20 * np.log10(np.abs(response) / radiation(body, hz))
    assert np.abs(off).max() < 0.1


def test_the_filter_turns_no_phase_so_that_no_slide_is_bent() -> None:
    taps = impulse(VIOLIN)
    assert len(taps) == 2 * REACH + 1
    assert taps == pytest.approx(taps[::-1], abs=1e-7)


@pytest.mark.parametrize("program", BODIES)
def test_no_partial_of_the_fastest_slide_is_bent_by_5_cents(program: int) -> None:
    """An octave from the lowest string and from each of the next fifths, in 132 ms by minimum jerk:
    a gain that changes with frequency shifts what moves through it."""
    open_hz, taps = LOWEST_HZ[program], impulse(BODIES[program]).astype(float)
    t = np.clip((np.arange(RATE_HZ // 2) / RATE_HZ - 0.2) / 0.132, 0, 1)
    octave = t**3 * (10 - 15 * t + 6 * t**2)
    for fifths in range(3):
        hz = open_hz * 1.5**fifths * 2**octave
        for partial in range(1, 9):
            sound = np.exp(2j * np.pi * partial * np.cumsum(hz) / RATE_HZ)
            through = fftconvolve(sound, taps, "same")
            turn = np.angle(through[1:] / through[:-1]) - np.angle(sound[1:] / sound[:-1])
            moving = (t[1:] > 0) & (t[1:] < 1)
            off = 1200 * np.log2(1 + turn * RATE_HZ / (2 * np.pi * partial * hz[1:]))[moving]
            assert np.abs(off).max() < 5


def heard(sound: np.ndarray, cut: int, body: Body = VIOLA) -> np.ndarray:
    blocks = [sound[at : at + cut] for at in range(0, len(sound), cut)]
    return np.concatenate(list(behind(body, blocks, 4096)))


def test_blocks_do_not_matter_and_it_is_the_plain_convolution() -> None:
    sound = np.random.default_rng(7).standard_normal(50_000).astype(np.float32)
    whole = heard(sound, 50_000)
    assert len(whole) == len(sound) - REACH
    expected = np.convolve(sound.astype(float), impulse(VIOLA).astype(float))
    assert whole == pytest.approx(expected[REACH : len(sound)], abs=1e-4)
    for cut in (64, 1_000, 16_384):
        assert heard(sound, cut) == pytest.approx(whole, abs=1e-4)


def test_silence_stays_silence() -> None:
    assert not heard(np.zeros(10_000, np.float32), 1_000).any()


def test_the_law_of_loudness_never_asks_for_more_than_a_voice_has() -> None:
    for body in BODIES.values():
        table = np.array([*map(softening_law(body), range(HIGHEST_KEY * LAW_STEPS))])
        assert table.min() >= 0
        assert np.isfinite(table).all()
        assert np.abs(np.diff(table)).max() < 2 / LAW_STEPS  # dB: no step that could be heard
