"""Spectra of a stretch of sound, and the pitch in them.

The way to the pitch: a comb finds which note it is, to ten cents, by comparing what lies on its
partials with what lies between them; then every partial tells its own frequency by the phase
(reassignment, Auger and Flandrin 1995) and their weighted middle is the pitch. Neither needs the
track's leaking sound to be taken away first.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache, cached_property

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view
from numpy.typing import NDArray

from playalong.performance.clock import SAMPLE_RATE_HZ

HOP_FRAMES = 256
HOP_SECONDS = HOP_FRAMES / SAMPLE_RATE_HZ
LOWEST_HZ = 60.0
LOW_HZ = 130.0  # below, partials lie too close for the shorter window
GRID_CENTS = 10
REACH_CENTS = 700
COMB_PARTIALS = 10
COMB_FADE = 0.85  # from each partial to the next
COMB_HIGHEST_HZ = 6000.0
FINE_PARTIALS = 12
FINE_HIGHEST_HZ = 7000.0

Floats = NDArray[np.float64]


def window_frames(lowest_hz: float) -> int:
    """46 ms, or 93 where the lowest note is low."""
    return 2048 if lowest_hz > LOW_HZ else 4096


@dataclass(frozen=True)
class Spectra:
    """`values` and `slopes` (of the same sound under the window's slope), shape (times, bins)."""

    start_seconds: float  # the middle of the first window
    values: NDArray[np.complex64]
    slopes: NDArray[np.complex64]

    @classmethod
    def of(cls, sound: NDArray[np.float32], start_seconds: float, window: int) -> Spectra:
        """Of a sound whose first sample stands half a window before `start_seconds`."""
        hann, slope = _windows(window)
        cut = sliding_window_view(sound, window)[::HOP_FRAMES]
        return cls(start_seconds, _transformed(cut * hann), _transformed(cut * slope))

    def __len__(self) -> int:
        return len(self.values)

    @property
    def bin_hz(self) -> float:
        return float(SAMPLE_RATE_HZ / (2 * (self.values.shape[1] - 1)))

    @cached_property
    def sizes(self) -> NDArray[np.float32]:
        return np.abs(self.values)

    @cached_property
    def loudness_db(self) -> Floats:
        """Of all that sounds where music is."""
        band = slice(int(LOWEST_HZ / self.bin_hz), int(FINE_HIGHEST_HZ / self.bin_hz))
        return np.asarray(10 * np.log10((self.sizes[:, band].astype(float) ** 2).sum(1) + 1e-12))

    def seconds(self, place: float) -> float:
        return self.start_seconds + place * HOP_SECONDS

    def place(self, seconds: float) -> int:
        """The nearest window that there is."""
        return int(np.clip(round((seconds - self.start_seconds) / HOP_SECONDS), 0, len(self)))

    def comb(self, cents: Floats, hz: float, rows: slice) -> NDArray[np.float32]:
        """How much more lies on the partials of each pitch than between; (times, pitches)."""
        roots = np.sqrt(self.sizes[rows])
        bins = hz * 2 ** (cents / 1200) / self.bin_hz
        found = np.zeros((len(roots), len(bins)), np.float32)
        for n in range(1, COMB_PARTIALS + 1):
            if n > 1 and n * bins[0] * self.bin_hz > COMB_HIGHEST_HZ:
                break
            on, between = _between(roots, n * bins), _between(roots, (n - 0.5) * bins)
            found += COMB_FADE**n * (on - between)
        return found

    def followed(self, hz: float, rows: slice, reach_cents: int = REACH_CENTS) -> Floats:
        """Cents against `hz` at each time, searched within `reach_cents`."""
        grid = np.arange(-reach_cents, reach_cents + 1, GRID_CENTS, dtype=float)
        near_hz = hz * 2 ** (grid[self.comb(grid, hz, rows).argmax(1)] / 1200)
        for _ in range(2):
            near_hz = self.refined(near_hz, rows)
        return np.asarray(1200 * np.log2(near_hz / hz))

    def refined(self, near_hz: Floats, rows: slice) -> Floats:
        """The pitch at each time by its partials' own frequencies, near one already found."""
        found, weights = [], []
        for n in range(1, FINE_PARTIALS + 1):
            if n * near_hz.max() > FINE_HIGHEST_HZ:
                break
            hz, size = self._partial(n * near_hz, rows)
            found.append(hz / n)
            weights.append(size * n)
        hz, weight = np.array(found), np.array(weights)
        middle = _weighted_median(hz, weight)
        middle = np.clip(middle, near_hz * 2 ** (-60 / 1200), near_hz * 2 ** (60 / 1200))
        agree = np.abs(1200 * np.log2(np.maximum(hz, 1) / middle)) < 25
        weight = weight * agree + 1e-12
        return np.where(agree.any(0), (weight * hz).sum(0) / weight.sum(0), middle)

    def _partial(self, near_hz: Floats, rows: slice) -> tuple[Floats, Floats]:
        """Frequency and size of the strongest bin next to each `near_hz`."""
        times = np.arange(*rows.indices(len(self)))
        bins = np.clip(np.rint(near_hz / self.bin_hz).astype(int), 1, self.values.shape[1] - 2)
        around = np.stack([self.sizes[times, bins + step] for step in (-1, 0, 1)])
        bins = bins + around.argmax(0) - 1
        value = self.values[times, bins]
        power = np.abs(value).astype(float) ** 2 + 1e-12
        turn = np.imag(self.slopes[times, bins] * np.conj(value)) / power
        return bins * self.bin_hz - turn * SAMPLE_RATE_HZ / (2 * np.pi), np.sqrt(power)

    def powers(self, hz: Floats | float, rows: slice, partials: int = FINE_PARTIALS) -> Floats:
        """Power of each partial of a pitch at each time, shape (partials, times)."""
        times = np.arange(*rows.indices(len(self)))
        pitch = np.broadcast_to(np.asarray(hz, float), len(times))
        found = []
        for n in range(1, partials + 1):
            if n > 1 and n * pitch.max() > FINE_HIGHEST_HZ:
                break
            bins = np.clip(np.rint(n * pitch / self.bin_hz).astype(int), 1, self.sizes.shape[1] - 2)
            found.append(
                np.max([self.sizes[times, bins + step] for step in (-1, 0, 1)], axis=0) ** 2
            )
        return np.array(found, float)


@cache
def _windows(frames: int) -> tuple[NDArray[np.float32], NDArray[np.float32]]:
    turn = 2 * np.pi * np.arange(frames) / frames
    hann = (0.5 - 0.5 * np.cos(turn)).astype(np.float32)
    return hann, (np.pi / frames * np.sin(turn)).astype(np.float32)


def _transformed(cut: NDArray[np.float32]) -> NDArray[np.complex64]:
    return np.asarray(np.fft.rfft(cut).astype(np.complex64))


def _between(values: NDArray[np.float32], bins: Floats) -> NDArray[np.float32]:
    """Values at places between the bins, on a straight line."""
    low = np.clip(bins.astype(int), 0, values.shape[1] - 2)
    share = np.minimum(bins - low, 1).astype(np.float32)
    return np.asarray(values[:, low] * (1 - share) + values[:, low + 1] * share)


def _weighted_median(values: Floats, weights: Floats) -> Floats:
    order = np.argsort(values, 0)
    values, weights = np.take_along_axis(values, order, 0), np.take_along_axis(weights, order, 0)
    sums = np.cumsum(weights, 0)
    return np.asarray(np.take_along_axis(values, (sums >= sums[-1] / 2).argmax(0)[None], 0)[0])
