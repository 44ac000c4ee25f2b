import math
import subprocess
import sys

import numpy as np
import pyloudnorm
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.signal import resample_poly

from playalong.errors import PlayalongError
from playalong.performance.clock import SAMPLE_RATE_HZ
from playalong.sound.loudness import LoudnessError, LoudnessMeter, _interpolation, gain_to


def measured(sound, block_frames=4096, rate_hz=SAMPLE_RATE_HZ):
    meter = LoudnessMeter(rate_hz)
    for start in range(0, len(sound), block_frames):
        meter.add(sound[start : start + block_frames])
    return meter


def noise(seconds, seed, channels=1):
    shape = (round(seconds * SAMPLE_RATE_HZ), channels)
    sound = np.random.default_rng(seed).uniform(-0.5, 0.5, shape).astype(np.float32)
    return sound[:, 0] if channels == 1 else sound


def pulses(seconds, seed):
    """Notes of many strengths with silence between, so that both gates have work to do."""
    random = np.random.default_rng(seed)
    sound = np.zeros(round(seconds * SAMPLE_RATE_HZ), np.float32)
    for start in range(0, len(sound) - 30_000, 40_000):
        time = np.arange(random.integers(2_000, 30_000)) / SAMPLE_RATE_HZ
        level = 10 ** random.uniform(-4.5, -0.3)
        sound[start : start + len(time)] = level * np.sin(
            2 * np.pi * random.uniform(80, 3000) * time
        )
    return sound


@pytest.mark.parametrize("channels", [1, 2])
@pytest.mark.parametrize("seed", range(3))
def test_noise_reads_as_pyloudnorm_reads_the_whole(seed, channels):
    sound = noise(3.0, seed, channels)
    whole = pyloudnorm.Meter(SAMPLE_RATE_HZ, filter_class="DeMan").integrated_loudness(sound)
    assert measured(sound).integrated_lufs() == pytest.approx(whole, abs=0.01)


@pytest.mark.parametrize("seed", range(6))
def test_gated_pulses_read_as_pyloudnorm_reads_the_whole(seed):
    sound = pulses(12.0, seed)
    whole = pyloudnorm.Meter(SAMPLE_RATE_HZ, filter_class="DeMan").integrated_loudness(sound)
    assert measured(sound).integrated_lufs() == pytest.approx(whole, abs=0.01)


@settings(max_examples=25, deadline=None)
@given(
    cuts=st.lists(st.integers(0, 9000), min_size=1, max_size=30), channels=st.sampled_from([1, 2])
)
def test_how_the_stream_is_cut_changes_nothing(cuts, channels):
    sound = noise(0.77, 5, channels)
    whole, cut = LoudnessMeter(), LoudnessMeter()
    whole.add(sound)
    start = 0
    for frames in [*cuts, len(sound)]:
        cut.add(sound[start : start + frames])
        start += frames
    assert cut.integrated_lufs() == whole.integrated_lufs()
    assert cut.true_peak_dbtp() == whole.true_peak_dbtp()


@pytest.mark.parametrize("centre", [40, 4394, 4408, 4409, 4410, 4411, 8820, 13_000, 17_600])
def test_a_peak_between_samples_is_found_wherever_it_falls(centre):
    """A band-limited pulse whose top of 0.5 lies halfway after frame `centre`."""
    sound = (0.5 * np.sinc((np.arange(17_640) - centre - 0.5) / 2)).astype(np.float32)
    assert np.abs(sound).max() < 0.46
    assert measured(sound, 441).true_peak_dbtp() == pytest.approx(-6.0206, abs=0.02)


@pytest.mark.parametrize("frames", [1, 10, 32, 33, 4409, 4410, 4411, 4442, 12_345])
def test_true_peak_in_steps_is_that_of_the_whole_with_silence_around(frames):
    sound = np.random.default_rng(frames).uniform(-0.5, 0.5, frames).astype(np.float32)
    whole = resample_poly(np.pad(sound, 100), 4, 1, window=_interpolation() / 4)
    expected_db = 20 * math.log10(float(np.abs(whole).max()))
    assert measured(sound, 700).true_peak_dbtp() == pytest.approx(expected_db, abs=1e-4)


def test_true_peak_is_never_below_the_highest_sample():
    for seed in range(5):
        sound = pulses(2.0, seed)
        highest_db = 20 * math.log10(float(np.abs(sound).max()))
        assert measured(sound).true_peak_dbtp() >= highest_db - 1e-3


def test_true_peak_of_two_channels_is_that_of_the_higher():
    left, right = 0.1 * noise(0.5, 1), noise(0.5, 2)
    both = measured(np.stack([left, right], axis=1)).true_peak_dbtp()
    assert both == measured(right).true_peak_dbtp()


def test_asking_on_the_way_changes_nothing():
    sound = pulses(4.0, 3)
    asked = LoudnessMeter()
    for start in range(0, len(sound), 5000):
        asked.add(sound[start : start + 5000])
        asked.true_peak_dbtp()
        if start > SAMPLE_RATE_HZ:
            asked.integrated_lufs()
    quiet = measured(sound)
    assert asked.integrated_lufs() == quiet.integrated_lufs()
    assert asked.true_peak_dbtp() == quiet.true_peak_dbtp()


def test_silence_has_no_loudness_and_no_peak():
    meter = measured(np.zeros(SAMPLE_RATE_HZ, np.float32))
    assert meter.integrated_lufs() == -math.inf
    assert meter.true_peak_dbtp() == -math.inf


def test_less_than_400_ms_is_refused():
    meter = measured(noise(0.399, 1))
    with pytest.raises(LoudnessError, match=r"at least 0\.4 seconds"):
        meter.integrated_lufs()
    assert issubclass(LoudnessError, PlayalongError)
    assert math.isfinite(measured(noise(0.4, 1)).integrated_lufs())


def test_nothing_at_all_has_no_peak():
    meter = LoudnessMeter()
    meter.add(np.zeros(0, np.float32))
    assert meter.true_peak_dbtp() == -math.inf
    with pytest.raises(LoudnessError, match=r"at least 0\.4 seconds"):
        meter.integrated_lufs()


def test_blocks_of_changing_or_too_many_channels_are_refused():
    meter = measured(noise(0.1, 1))
    with pytest.raises(LoudnessError, match="same number of channels"):
        meter.add(np.zeros((10, 2), np.float32))
    with pytest.raises(LoudnessError, match="one or two channels are measured, not 3"):
        LoudnessMeter().add(np.zeros((10, 3), np.float32))
    with pytest.raises(
        LoudnessError, match="100 ms must be whole frames; at 11025 Hz they are not"
    ):
        LoudnessMeter(11_025)


@settings(max_examples=20, deadline=None)
@given(target=st.floats(-40, -10), level_db=st.floats(-40, -3))
def test_the_gain_reaches_the_target_unless_the_ceiling_comes_first(target, level_db):
    sound = 10 ** (level_db / 20) * 2 * noise(0.5, 7)
    meter = measured(sound)
    gain = gain_to(target, meter.integrated_lufs(), meter.true_peak_dbtp(), ceiling_dbtp=-1.0)
    after = measured((sound * gain).astype(np.float32))
    assert after.true_peak_dbtp() <= -1.0 + 1e-4
    if after.true_peak_dbtp() < -1.001:
        assert after.integrated_lufs() == pytest.approx(target, abs=0.001)
    else:
        assert after.integrated_lufs() <= target + 0.001


def test_silence_is_left_as_it_is():
    assert gain_to(-18.0, -math.inf, -math.inf, -1.0) == 1.0


def test_the_slow_imports_wait_until_something_is_measured():
    code = (
        "import sys, playalong.sound.loudness as l; l.LoudnessMeter();"
        "print('scipy.signal' in sys.modules or 'pyloudnorm' in sys.modules)"
    )
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert run.stdout.strip() == "False"
