"""The measuring itself, on synthetic signals whose answer is known."""

from __future__ import annotations

import numpy as np
import pytest
from measure import (
    RATE_HZ,
    Floats,
    curve_hz,
    cut,
    envelope,
    first_sound,
    followed_cents_off,
    level_db,
    levels_db,
    matched_times,
    onset,
    praat_cents_off,
    ripple_db,
    strongest_partial,
    times,
)
from scipy.signal import chirp


def span(seconds: float) -> Floats:
    return np.arange(round(seconds * RATE_HZ)) / RATE_HZ


def sawtooth(hz: Floats, partials: int = 8) -> Floats:
    """Partials at 1/n of a moving pitch, by its phase."""
    phase = 2 * np.pi * np.cumsum(hz) / RATE_HZ
    return np.sum([np.sin(n * phase) / n for n in range(1, partials + 1)], axis=0)


@pytest.mark.parametrize("off_cents", [-13.7, 0.0, 0.3, 21.5])
def test_praat_reads_a_held_sawtooth_to_a_hundredth_of_a_cent(off_cents: float) -> None:
    hz = 196.0 * 2 ** (off_cents / 1200)
    read = praat_cents_off(sawtooth(np.full(RATE_HZ, hz)), 0.1, 0.9, 196.0)
    assert len(read) > 100
    assert np.abs(read - off_cents).max() < 0.01


@pytest.mark.parametrize("partial", [1, 2, 3])
@pytest.mark.parametrize("low_hz", [65.4, 196.0, 659.3])
def test_a_slide_that_misses_its_curve_is_seen_to_miss_by_just_so_much(
    low_hz: float, partial: int
) -> None:
    """Expected: 700 cents in 0.2 s. Heard: the same 5 ms late, and 3 cents sharp."""
    at = span(0.6)

    def travelled(late: float) -> Floats:
        return 350 * (1 - np.cos(np.pi * np.clip((at - 0.2 - late) / 0.2, 0, 1)))

    heard, expected = travelled(0.005) + 3, travelled(0.0)
    off, _ = followed_cents_off(
        sawtooth(low_hz * 2 ** (heard / 1200)), lambda _: low_hz * 2 ** (expected / 1200), partial
    )
    inside = (at > 0.22) & (at < 0.38)
    assert np.abs(off - (heard - expected))[inside].max() < (0.6 if low_hz > 100 else 1.6)


def test_a_true_slide_is_seen_as_true_to_a_tenth_of_a_cent() -> None:
    at = span(0.6)
    hz = 440 * 2 ** (700 * (1 - np.cos(np.pi * np.clip((at - 0.2) / 0.2, 0, 1))) / 2 / 1200)
    off, strength = followed_cents_off(sawtooth(hz), lambda _: hz)
    assert np.abs(off[4410:-4410]).max() < 0.1
    assert np.abs(strength[4410:-4410] - 1).max() < 0.001


def test_a_curve_is_read_between_its_points_and_held_outside() -> None:
    at = np.linspace(0, 0.2, 24)

    def hz(seconds: Floats) -> Floats:
        return 300 * 2 ** (350 * (1 - np.cos(np.pi * seconds / 0.2)) / 1200)

    curve = curve_hz([[t, h] for t, h in zip(at, hz(at), strict=True)])
    fine = np.linspace(0, 0.2, 500)
    assert np.abs(1200 * np.log2(curve(fine) / hz(fine))).max() < 0.01
    assert curve(np.array([-1.0, 9.0])) == pytest.approx([hz(at[:1])[0], hz(at[-1:])[0]])


def test_the_strongest_partial_is_found() -> None:
    at = span(0.2)
    sound = sum(a * np.sin(2 * np.pi * n * 200 * at) for n, a in ((1, 0.2), (2, 0.5), (3, 0.3)))
    assert strongest_partial(np.asarray(sound), 200) == 2


@pytest.mark.parametrize(
    ("attack", "hz"), [(0.011, 196.0), (0.011, 440.0), (0.045, 98.0), (0.045, 440.0), (0.15, 98.0)]
)
def test_the_onset_of_a_straight_attack_is_found_within_a_quarter_of_a_period(
    attack: float, hz: float
) -> None:
    at = span(0.6)
    rising = np.clip((at - 0.2) / attack, 0, 1)
    level = envelope(rising * sawtooth(np.full(len(at), hz)), hz)
    assert onset(level, 0.15, 0.5) == pytest.approx(0.2, abs=0.25 / hz)


def test_a_tap_is_found_within_a_tenth_of_a_millisecond() -> None:
    at = span(0.3)
    tap = np.where(at >= 0.1, np.sin(2 * np.pi * 1180 * (at - 0.1)) * np.exp(-(at - 0.1) / 0.01), 0)
    assert first_sound(tap, 0.05, 0.2) == pytest.approx(0.1, abs=0.0001)


def test_levels_are_those_of_known_sines() -> None:
    sine = np.sin(2 * np.pi * 100 * span(1.0))
    assert level_db(sine) == pytest.approx(-3.0103, abs=1e-4)
    assert levels_db(0.1 * sine, 0.1)[RATE_HZ // 2] == pytest.approx(-23.0103, abs=1e-4)


def test_the_ripple_of_a_beat_is_that_of_its_envelope() -> None:
    at = span(4.0)
    beating = np.sin(2 * np.pi * 400 * at) + 0.1 * np.sin(2 * np.pi * 400.5 * at)
    assert ripple_db(beating) == pytest.approx(20 * np.log10(1.1 / 0.9), abs=0.02)
    assert ripple_db(np.sin(2 * np.pi * 400 * at)) < 0.01


def test_a_sweep_is_found_within_a_hundredth_of_a_millisecond_under_a_tone() -> None:
    pattern = chirp(span(0.02), 1000, 0.02, 9000) * np.hanning(882)
    sound = 0.1 * np.sin(2 * np.pi * 196 * span(1.0))
    starts = [0.2, 0.7 + 3 / RATE_HZ]
    for start in starts:
        first = round(start * RATE_HZ)
        sound[first : first + 882] += pattern
    found = matched_times(sound, pattern, [0.2, 0.7], 0.01)
    assert found == pytest.approx(starts, abs=0.00001)


def test_a_cut_keeps_its_times() -> None:
    sound = span(1.0)
    assert cut(sound, 0.25, 0.5)[0] == pytest.approx(0.25)
    assert times(sound) == pytest.approx(sound)
