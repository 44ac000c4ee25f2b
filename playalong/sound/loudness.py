"""Loudness and true peak of a stream of blocks (ITU-R BS.1770-4).

Integrated loudness: K-weighting, mean square over 400 ms blocks that overlap by 75 %, gates at
-70 LUFS and 10 LU below the ungated mean. Only the energies of 100 ms steps are kept (ten numbers
a second); whatever is left of a step at the end counts for nothing, as the standard asks.

True peak (annex 2): fourfold oversampling, of the steps within 3.1 dB of the highest sample so
far. Below a quarter of the sample rate a peak rises at most 3.01 dB above its samples.

Steps lie on a grid of their own, so that results do not depend on how the stream is cut.
"""

from __future__ import annotations

import functools
import math
from array import array

import numpy as np
from numpy.typing import NDArray

from playalong.errors import PlayalongError
from playalong.performance.clock import SAMPLE_RATE_HZ

BLOCK_STEPS = 4  # a gating block is four steps of 100 ms
ABSOLUTE_GATE_LUFS = -70.0
RELATIVE_GATE_LU = -10.0
OFFSET_DB = -0.691  # BS.1770: makes a 997 Hz sine of 0 dBFS read -3.01

OVERSAMPLING = 4
FILTER_FRAMES = 16  # of the interpolation filter, to either side
NEAR_PEAK = 10 ** (-3.1 / 20)


class LoudnessError(PlayalongError):
    """A sound whose loudness cannot be measured."""


class LoudnessMeter:
    """Feed it blocks, then ask; asking changes nothing, and more blocks may follow."""

    def __init__(self, sample_rate_hz: int = SAMPLE_RATE_HZ) -> None:
        if sample_rate_hz % 10:
            raise LoudnessError(f"100 ms must be whole frames; at {sample_rate_hz} Hz they are not")
        self._step_frames = sample_rate_hz // 10
        self._energies = _StepEnergies(sample_rate_hz)
        self._peak = _TruePeak()
        self._waiting: NDArray[np.float32] | None = None  # less than a step

    def add(self, block: NDArray[np.float32]) -> None:
        """Take the next frames: shape (frames,) for one channel, (frames, channels) for 1 or 2."""
        frames = block.reshape(len(block), -1) if block.size else block.reshape(0, 1)
        if not len(frames):
            return
        if self._waiting is None:
            if frames.shape[1] > 2:
                raise LoudnessError(f"one or two channels are measured, not {frames.shape[1]}")
            self._waiting = frames[:0]
        if frames.shape[1] != self._waiting.shape[1]:
            raise LoudnessError("every block of a stream has the same number of channels")
        waiting = np.concatenate([self._waiting, frames])
        whole = len(waiting) - len(waiting) % self._step_frames
        if whole:
            self._energies.add(waiting[:whole], self._step_frames)
        for at in range(0, whole, self._step_frames):
            self._peak.add(waiting[at : at + self._step_frames])
        waiting = waiting[whole:]
        self._waiting = waiting.copy()  # let go of the block it came from

    def integrated_lufs(self) -> float:
        """Gated loudness; -inf if all of it lies below the absolute gate, as silence does.

        Raises LoudnessError for less than 400 ms, which the standard does not define.
        """
        steps = np.array(self._energies.steps)
        if len(steps) < BLOCK_STEPS:
            raise LoudnessError("loudness takes at least 0.4 seconds of sound to measure")
        blocks = np.convolve(steps, np.ones(BLOCK_STEPS), "valid")
        powers = blocks / (BLOCK_STEPS * self._step_frames)
        powers = powers[powers > _power(ABSOLUTE_GATE_LUFS)]
        if not len(powers):
            return -math.inf
        gate = powers.mean() * 10 ** (RELATIVE_GATE_LU / 10)
        return OFFSET_DB + 10 * math.log10(powers[powers > gate].mean())

    def true_peak_dbtp(self) -> float:
        """Highest point between and on the samples, dB above full scale; -inf for silence."""
        peak = self._peak.with_tail(self._waiting)
        return 20 * math.log10(peak) if peak else -math.inf


def gain_to(
    target_lufs: float, measured_lufs: float, peak_dbtp: float, ceiling_dbtp: float
) -> float:
    """Linear gain that brings a sound to the target, or as near as its true peak allows.

    Silence (-inf LUFS) has nothing to bring anywhere: 1.
    """
    if math.isinf(measured_lufs):
        return 1.0
    return float(10 ** (min(target_lufs - measured_lufs, ceiling_dbtp - peak_dbtp) / 20))


def _power(lufs: float) -> float:
    return float(10 ** ((lufs - OFFSET_DB) / 10))


class _StepEnergies:
    """Sum of squares of each K-weighted step, channels added (front channels weigh 1)."""

    def __init__(self, sample_rate_hz: int) -> None:
        self._sample_rate_hz = sample_rate_hz
        self._state: NDArray[np.float64] | None = None
        self.steps = array("d")

    def add(self, frames: NDArray[np.float32], step_frames: int) -> None:
        """Whole steps: filtered in one go, since a call costs more than a step's filtering."""
        from scipy.signal import sosfilt  # most of a second to import: only when measuring

        sections = _k_weighting(self._sample_rate_hz)
        if self._state is None:
            self._state = np.zeros((len(sections), 2, frames.shape[1]))
        weighted, self._state = sosfilt(sections, frames, axis=0, zi=self._state)
        for at in range(0, len(weighted), step_frames):
            self.steps.append(float(np.square(weighted[at : at + step_frames]).sum()))


class _TruePeak:
    """Highest oversampled magnitude, each step seen together with the frames around it."""

    def __init__(self) -> None:
        self._before: NDArray[np.float32] | None = None  # the last frames, not yet all looked at
        self._highest_sample = 0.0
        self._highest = 0.0

    def add(self, step: NDArray[np.float32]) -> None:
        window = self._window(step)
        self._highest_sample = max(self._highest_sample, float(np.abs(window).max()))
        self._highest = max(self._highest, self._between(window, self._highest_sample))
        self._before = window[-2 * FILTER_FRAMES :]

    def with_tail(self, tail: NDArray[np.float32] | None) -> float:
        """The peak if the stream ended with `tail`."""
        if tail is None:
            return 0.0
        silence = np.zeros((2 * FILTER_FRAMES, tail.shape[1]), np.float32)
        window = self._window(np.concatenate([tail, silence]))
        highest_sample = max(self._highest_sample, float(np.abs(window).max()))
        return max(self._highest, self._between(window, highest_sample))

    def _window(self, step: NDArray[np.float32]) -> NDArray[np.float32]:
        if self._before is None:
            self._before = np.zeros((2 * FILTER_FRAMES, step.shape[1]), np.float32)
        return np.concatenate([self._before, step])

    def _between(self, window: NDArray[np.float32], highest_sample: float) -> float:
        """Peak within the window less the filter's reach at both ends; 0 where far below."""
        sample_peak = float(np.abs(window).max())
        if sample_peak == 0 or sample_peak < NEAR_PEAK * highest_sample:
            return 0.0
        from scipy.signal import upfirdn

        full = upfirdn(_interpolation(), window, up=OVERSAMPLING, axis=0)
        delay = OVERSAMPLING * FILTER_FRAMES
        inner = full[2 * delay : OVERSAMPLING * len(window)]
        return float(np.abs(inner).max())


@functools.cache
def _k_weighting(sample_rate_hz: int) -> NDArray[np.float64]:
    """Second-order sections of BS.1770, the shelf and the high-pass."""
    from pyloudnorm import Meter

    # "DeMan" is the standard's own curve; the default class reads 0.04 LU low at 997 Hz.
    filters = Meter(sample_rate_hz, filter_class="DeMan")._filters.values()
    return np.array([[*stage.b, *stage.a] for stage in filters])


@functools.cache
def _interpolation() -> NDArray[np.float64]:
    """Low-pass at half the sample rate for fourfold oversampling, of unit gain once upsampled."""
    from scipy.signal import firwin

    taps = 2 * OVERSAMPLING * FILTER_FRAMES + 1
    return np.asarray(OVERSAMPLING * firwin(taps, 1 / OVERSAMPLING, window=("kaiser", 5.0)))
