"""Clicks, low tap and sweep: exact in time, clear, and no louder than they need be."""

from __future__ import annotations

import numpy as np
import pytest
from bank_parser import Parsed, text
from bank_render import (
    BLOCK_FRAMES,
    DRONE,
    RATE_HZ,
    Floats,
    held,
    level_db,
    loudness_lufs,
    off,
    on,
    render,
)

PERCUSSION = 128


def tap(bank: Parsed, name: str) -> Floats:
    (header,) = (one for one in bank.samples() if text(one.name) == name)
    return bank.points[header.start : header.end].astype(np.float64)


@pytest.mark.parametrize("name", ["Low tap", "High click", "Low click"])
def test_a_tap_starts_on_its_first_frame(bank: Parsed, name: str) -> None:
    wave = np.abs(tap(bank, name))
    first_ms = wave[: RATE_HZ // 1000].max()
    assert wave[0] > 0.005 * wave.max()
    assert first_ms > 0.5 * wave.max()


@pytest.mark.parametrize("key", [64, 76, 77])
def test_a_tap_is_heard_within_two_milliseconds_of_its_event(key: int) -> None:
    # FluidSynth fades each voice in over its first block, 1.45 ms.
    wave = np.abs(held(0, key, 0.4, bank=PERCUSSION))
    assert np.argmax(wave > 0.5 * wave.max()) < 2 * RATE_HZ / 1000


def test_the_low_click_is_three_decibels_softer_than_the_high_one() -> None:
    high, low = (loudness_lufs(held(0, key, 0.5, bank=PERCUSSION)) for key in (76, 77))
    assert high - low == pytest.approx(3, abs=0.5)


def test_clicks_stand_out_from_a_guide_and_a_drone_but_not_by_much() -> None:
    """A click lasts for a tenth of the 400 ms of a loudness: 10 to 13 LU below a guide by that
    measure, it is as loud as the guide while it sounds.
    """
    clicks = [loudness_lufs(held(0, key, 0.4, bank=PERCUSSION)) for key in (76, 77)]
    for program, keys in {40: (55, 69, 88), 41: (48, 62), 42: (36, 57), 43: (40, 52)}.items():
        for key in keys:
            below_db = loudness_lufs(held(program, key, 1.0)) - np.array(clicks)
            assert below_db.max() < 13, (program, key)
            assert below_db.min() > 9, (program, key)


def test_clicks_have_low_peaks_for_their_loudness(bank: Parsed) -> None:
    """A decaying sine of 14 ms has a crest of 6 dB and more over its first 10 ms; these have 4."""
    for name in ("Low tap", "High click", "Low click"):
        wave = tap(bank, name)[: RATE_HZ // 100]
        assert 20 * np.log10(np.abs(wave).max() / np.sqrt(np.mean(wave**2))) < 6.5, name


def test_a_sweep_under_a_drone_is_found_within_a_tenth_of_a_millisecond(bank: Parsed) -> None:
    template = tap(bank, "Sweep")
    frame = 517 * BLOCK_FRAMES
    for key in (28, 45, 62):
        drone = held(DRONE, key, 1.5)[-RATE_HZ:]
        sweep = held(0, 75, 0.1, bank=PERCUSSION)
        wave = drone.copy()
        scale = 10 ** (-40 / 20) * np.abs(drone).max() / np.abs(sweep).max()
        wave[frame : frame + len(sweep)] += scale * sweep
        found = np.argmax(np.correlate(_above_the_drone(wave), template, "valid"))
        assert abs(found - frame) / RATE_HZ < 0.0001


def _above_the_drone(wave: Floats) -> Floats:
    """The part of the sweep's band where these drones have no partial."""
    spectrum = np.fft.rfft(wave)
    hz = np.fft.rfftfreq(len(wave), 1 / RATE_HZ)
    spectrum[(hz < 3_000) | (hz > 9_500)] = 0
    return np.fft.irfft(spectrum, len(wave))


def test_the_sweep_rises_from_1_to_9_khz_in_20_ms(bank: Parsed) -> None:
    wave = tap(bank, "Sweep")
    heard = np.nonzero(np.abs(wave) > 0.01 * np.abs(wave).max())[0]
    assert (heard[-1] - heard[0]) / RATE_HZ == pytest.approx(0.020, abs=0.002)
    power = np.abs(np.fft.rfft(wave)) ** 2
    hz = np.fft.rfftfreq(len(wave), 1 / RATE_HZ)
    assert power[(hz > 900) & (hz < 9_100)].sum() > 0.99 * power.sum()


def test_a_tap_rings_to_its_end_however_short_its_note() -> None:
    for key in (64, 75, 76, 77):
        events = [(0, on(0, key)), (0.01, off(0, key))]
        short = render([(PERCUSSION, 0)], events, 0.05)[0]
        assert level_db(short) == pytest.approx(
            level_db(held(0, key, 0.05, bank=PERCUSSION)), abs=1
        )
