"""The loudness meter against ITU-R BS.1770-4 and EBU Tech 3341."""

import numpy as np
import pytest

from playalong.sound.loudness import LoudnessMeter, _k_weighting

RATE_HZ = 48_000


def sine(hz, peak_dbfs, seconds, phase_degrees=0.0, rate_hz=RATE_HZ):
    time = np.arange(round(seconds * rate_hz)) / rate_hz
    wave = np.sin(2 * np.pi * hz * time + np.radians(phase_degrees))
    return (10 ** (peak_dbfs / 20) * wave).astype(np.float32)


def meter_of(sound, rate_hz=RATE_HZ):
    meter = LoudnessMeter(rate_hz)
    for start in range(0, len(sound), 10_000):
        meter.add(sound[start : start + 10_000])
    return meter


@pytest.mark.parametrize("rate_hz", [44_100, 48_000])
def test_a_full_scale_997_hz_sine_in_one_channel_reads_minus_3_01(rate_hz):
    """BS.1770-4, annex 1: "the indicated loudness will equal -3.01 LKFS"."""
    tone = sine(997, 0.0, 5, rate_hz=rate_hz)
    assert meter_of(tone, rate_hz).integrated_lufs() == pytest.approx(-3.01, abs=0.01)
    beside_silence = np.stack([tone, 0 * tone], axis=1)
    assert meter_of(beside_silence, rate_hz).integrated_lufs() == pytest.approx(-3.01, abs=0.01)


def test_the_weighting_has_the_coefficients_of_the_standard():
    """BS.1770-4, tables 1 and 2, for 48 kHz."""
    shelf, high_pass = _k_weighting(RATE_HZ)
    assert shelf == pytest.approx(
        [
            *(1.53512485958697, -2.69169618940638, 1.19839281085285),
            *(1.0, -1.69065929318241, 0.73248077421585),
        ],
        abs=1e-8,
    )
    assert high_pass == pytest.approx(
        [1.0, -2.0, 1.0, 1.0, -1.99004745483398, 0.99007225036621], abs=1e-8
    )


@pytest.mark.parametrize(
    ("segments", "expected_lufs", "exact_lufs"),
    [
        ([(-23, 20)], -23.0, -22.9933),
        ([(-33, 20)], -33.0, -32.9933),
        ([(-36, 10), (-23, 60), (-36, 10)], -23.0, -23.0139),
        ([(-72, 10), (-36, 10), (-23, 60), (-36, 10), (-72, 10)], -23.0, -23.0139),
        ([(-26, 20), (-20, 20.1), (-26, 20)], -23.0, -22.9787),
    ],
    ids=["case 1", "case 2", "case 3", "case 4", "case 5"],
)
def test_ebu_minimum_requirements(segments, expected_lufs, exact_lufs):
    """EBU Tech 3341, table 1, cases 1 to 5: stereo 1 kHz in phase, within 0.1 LU.

    Durations from memory. `exact_lufs` is what the ITU coefficients give for these signals.
    """
    tone = np.concatenate([sine(1000, dbfs, seconds) for dbfs, seconds in segments])
    lufs = meter_of(np.stack([tone, tone], axis=1)).integrated_lufs()
    assert lufs == pytest.approx(expected_lufs, abs=0.1)
    assert lufs == pytest.approx(exact_lufs, abs=0.001)


@pytest.mark.parametrize(
    ("divisor", "phase_degrees", "peak_dbfs", "expected_dbtp"),
    [
        (4, 0.0, -6.0206, -6.0),
        (4, 45.0, -6.0206, -6.0),
        (6, 60.0, -6.0206, -6.0),
        (8, 67.5, -6.0206, -6.0),
        (4, 45.0, 3.0, 3.0),
    ],
    ids=["case 15", "case 16", "case 17", "case 18", "case 19"],
)
def test_ebu_true_peak_requirements(divisor, phase_degrees, peak_dbfs, expected_dbtp):
    """EBU Tech 3341, cases 15 to 19 (signals from memory): within +0.2 and -0.4 dB.

    The tone fades in and out, since a switched tone really does peak higher.
    """
    tone = sine(RATE_HZ / divisor, peak_dbfs, 2, phase_degrees)
    fade = np.minimum(1, np.arange(len(tone)) / 4800)
    peak = meter_of((tone * fade * fade[::-1]).astype(np.float32)).true_peak_dbtp()
    assert expected_dbtp - 0.4 <= peak <= expected_dbtp + 0.2


def test_a_quarter_rate_sine_at_45_degrees_peaks_3_db_above_its_samples():
    """Geometry: samples at -3.0103 dBFS, true peak 0 dBTP (BS.1770-4, annex 2)."""
    tone = sine(RATE_HZ / 4, 0.0, 2, phase_degrees=45)
    assert 20 * np.log10(np.abs(tone).max()) == pytest.approx(-3.0103, abs=1e-3)
    fade = np.minimum(1, np.arange(len(tone)) / 4800)
    peak = meter_of((tone * fade * fade[::-1]).astype(np.float32)).true_peak_dbtp()
    assert peak == pytest.approx(0.0, abs=0.02)
