"""What the bank sounds like through FluidSynth: true, straight, even and clear."""

from __future__ import annotations

import ctypes
import itertools

import fluidsynth
import numpy as np
import parselmouth
import pytest
from bank_parser import Parsed, text
from bank_render import (
    BLOCK_FRAMES,
    BOWED,
    DRONE,
    GHOST,
    GHOST_KEYS,
    RATE_HZ,
    VOICES,
    Floats,
    key_hz,
    level_db,
    loudness_lufs,
    off,
    on,
    render,
    ripple_db,
)
from scipy.signal import butter, sosfilt

GUIDE_LUFS = -22.6  # at gain 1, velocity 96, volume 100, expression 127


def partial_db(wave: Floats, hz: float) -> float:
    """Level of one sine, by a Hann-windowed Fourier sum."""
    window = np.hanning(len(wave))
    turn = np.exp(-2j * np.pi * hz * np.arange(len(wave)) / RATE_HZ)
    return float(20 * np.log10(2 * abs(np.sum(wave * window * turn)) / window.sum()))


# Pitch


def test_every_loop_is_whole_periods_within_a_hundredth_of_a_cent_of_its_key(bank: Parsed) -> None:
    for header in bank.tones():
        loop = bank.points[header.loop_start : header.loop_end].astype(np.float64)
        periods = round(len(loop) * key_hz(header.root_key) / header.rate)
        hz = periods * header.rate / len(loop)
        assert abs(1200 * np.log2(hz / key_hz(header.root_key))) < 0.01, text(header.name)
        # ... and that many periods are truly in it: all the rest is noise 40 db below.
        power = np.abs(np.fft.rfft(loop)) ** 2
        assert power[::periods].sum() > 0.9999 * power.sum(), text(header.name)


@pytest.mark.parametrize("program", VOICES)
def test_an_independent_tracker_hears_every_root_within_half_a_cent(
    bank: Parsed, notes: dict[tuple[int, int], Floats], program: int
) -> None:
    # Boersma 1993, as in Praat; 88 is as far as its sample interpolation is sure to hold.
    low, high = VOICES[program]
    for key in range(low, min(high, 88) + 1, 3):
        hz = key_hz(key)
        sound = parselmouth.Sound(notes[program, key], RATE_HZ)
        # A window of 24 periods, over which the noise of the bow comes out even.
        track = sound.to_pitch_ac(
            time_step=0.01, pitch_floor=hz / 4, pitch_ceiling=2.5 * hz, very_accurate=True
        )
        found = track.selected_array["frequency"]
        cents = 1200 * np.log2(np.median(found[found > 0]) / hz)
        assert abs(cents) < 0.5, (program, key, cents)


@pytest.mark.parametrize("program", VOICES)
def test_no_controller_makes_a_voice_waver(program: int) -> None:
    key = VOICES[program][0] + 12
    plain = render([(0, program)], [(0, on(0, key))], 0.5)
    moved = [
        (0, lambda synth: synth.cc(0, 1, 127)),
        (0, lambda synth: _press(synth, 127)),
        (0, on(0, key)),
    ]
    assert np.array_equal(render([(0, program)], moved, 0.5), plain)


def _press(synth: fluidsynth.Synth, pressure: int) -> None:
    act = fluidsynth._fl.fluid_synth_channel_pressure  # pyfluidsynth has no name for it
    assert act(ctypes.c_void_p(synth.synth), 0, pressure) == 0


# Steadiness


def test_every_held_note_stays_within_half_a_decibel(
    notes: dict[tuple[int, int], Floats],
) -> None:
    for (program, key), wave in notes.items():
        assert ripple_db(wave) < 0.5, (program, key)


@pytest.mark.parametrize("pair", list(itertools.combinations((*BOWED, DRONE), 2)), ids=str)
def test_a_unison_of_two_voices_does_not_beat(pair: tuple[int, int]) -> None:
    low = max(VOICES[program][0] for program in pair)
    high = min(VOICES[program][1] for program in pair)
    for key in (low, (low + high) // 2, high):
        both = [(0, on(0, key)), (0, on(1, key))]
        wave = render([(0, program) for program in pair], both, 4.3)[0, -4 * RATE_HZ :]
        assert ripple_db(wave) < 0.5, key


# Evenness


@pytest.mark.parametrize("program", VOICES)
def test_no_key_is_silent_not_even_beyond_a_voices_range(program: int) -> None:
    """A fifth of a second each, one after the other, each when the one before has died away."""
    for keys in (range(low, low + 16) for low in range(0, 128, 16)):
        events = [
            (at, act(0, key))
            for second, key in enumerate(keys)
            for at, act in ((second, on), (second + 0.2, off))
        ]
        wave = render([(0, program)], events, len(keys))[0]
        for key, second in zip(keys, wave.reshape(len(keys), RATE_HZ), strict=True):
            assert level_db(second[: RATE_HZ // 5]) > -60, key
            # up to the block in which the next one may begin
            assert level_db(second[-RATE_HZ // 10 : -BLOCK_FRAMES]) < -100, key


def test_guides_are_equally_loud_from_end_to_end_and_from_one_to_the_next(
    notes: dict[tuple[int, int], Floats],
) -> None:
    for program, (low, high) in BOWED.items():
        for key in range(low, high + 1):
            assert loudness_lufs(notes[program, key]) == pytest.approx(GUIDE_LUFS, abs=0.5)


@pytest.mark.parametrize("program", [DRONE, GHOST])
def test_drone_and_ghost_stand_nine_decibels_below_a_guide(
    notes: dict[tuple[int, int], Floats], program: int
) -> None:
    low, high = VOICES[program]
    for key in range(low, high + 1):
        assert loudness_lufs(notes[program, key]) == pytest.approx(GUIDE_LUFS - 9, abs=0.7)


@pytest.mark.parametrize("program", VOICES)
def test_neighbouring_keys_are_even_in_level_and_in_colour(
    notes: dict[tuple[int, int], Floats], program: int
) -> None:
    low, high = VOICES[program]
    hz = np.fft.rfftfreq(RATE_HZ, 1 / RATE_HZ)
    levels, centroids = [], []
    for key in range(low, high + 1):
        spectrum = np.abs(np.fft.rfft(notes[program, key] * np.hanning(RATE_HZ)))
        levels.append(level_db(notes[program, key]))
        centroids.append(np.sum(spectrum * hz) / np.sum(spectrum))
    assert np.abs(np.diff(levels)).max() < 1.0
    # Two semitones of a shifted spectrum are 12.2 %: no seam is wider than that.
    assert np.abs(np.diff(np.log2(centroids))).max() < 2 / 12


def test_a_note_bent_up_an_octave_aliases_nothing_audible() -> None:
    bend = [
        *[(0, lambda s, n=n, v=v: s.cc(0, n, v)) for n, v in ((101, 0), (100, 0), (6, 12))],
        (0, lambda synth: synth.pitch_bend(0, 8191)),
    ]

    def below_db(program: int, key: int, before: list) -> float:
        """The power that lies under the tone, against all: with the bow's noise, -40 or so."""
        wave = render([(0, program)], [*before, (0, on(0, key))], 1.3)[0, -RATE_HZ:]
        power = np.abs(np.fft.rfft(wave * np.blackman(len(wave)))) ** 2
        return float(10 * np.log10(power[20:lowest].sum() / power.sum()))

    for program, (low, high) in BOWED.items():
        for key in range(low + 12, high - 12, 7):
            lowest = int(0.9 * key_hz(key + 12))
            bent, struck = below_db(program, key, bend), below_db(program, key + 12, [])
            assert bent < max(struck + 1, -50), (program, key)


# Ghost and drone


def test_the_ghosts_first_partial_is_too_weak_to_cancel_a_guides(
    notes: dict[tuple[int, int], Floats],
) -> None:
    for program, (low, high) in BOWED.items():
        for key in range(max(low, GHOST_KEYS[0]), min(high, 96) + 1):
            ghost = partial_db(notes[GHOST, key], key_hz(key))
            assert ghost < partial_db(notes[program, key], key_hz(key)) - 10, (program, key)


def test_the_ghosts_first_partial_stands_twelve_decibels_below_its_second(
    notes: dict[tuple[int, int], Floats],
) -> None:
    for key in range(40, 86):
        first, second = (partial_db(notes[GHOST, key], n * key_hz(key)) for n in (1, 2))
        assert second - first == pytest.approx(12, abs=2)


def test_the_drones_partials_fall_smoothly_on_both_sides_of_a_broad_peak(
    notes: dict[tuple[int, int], Floats],
) -> None:
    """1.2 dB from each to the next, but for the peak of 7 dB around 520 Hz and the air."""
    for key in range(28, 73, 4):
        count = min(24, int(4000 / key_hz(key)))
        levels = [partial_db(notes[DRONE, key], n * key_hz(key)) for n in range(1, count + 1)]
        assert np.abs(np.diff(levels)).max() < 9
        assert (np.diff(levels, 2) < 3.5).all()  # no partial stands out
        assert levels[-1] < max(levels) - 15


def test_a_small_loudspeaker_gives_the_drone(notes: dict[tuple[int, int], Floats]) -> None:
    """Behind a high-pass at 300 Hz, as a phone has it, the lowest tonics lose little."""
    high_pass = butter(4, 300, "highpass", fs=RATE_HZ, output="sos")
    for key in range(28, 41):
        whole = notes[DRONE, key]
        lost = loudness_lufs(whole) - loudness_lufs(np.asarray(sosfilt(high_pass, whole)))
        assert lost < (4.7 if key < 36 else 3.1), key
