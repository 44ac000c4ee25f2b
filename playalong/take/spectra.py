"""Spectra of a stretch of sound, and the pitch in them.

The way to the pitch: a comb finds which note it is, to ten cents, by comparing what lies on its
partials with what lies between them; then every partial tells its own frequency by the phase
(reassignment, Auger and Flandrin 1995) and their weighted middle is the pitch. Neither needs the
track's leaking sound to be taken away first.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view
from numpy.typing import NDArray

from playalong.performance.clock import SAMPLE_RATE_HZ

HOP_FRAMES = 256
HOP_SECONDS = HOP_FRAMES / SAMPLE_RATE_HZ
LOWEST_HZ = 60.0
WINDOW, LOW_WINDOW = 2048, 4096  # frames
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
    return WINDOW if lowest_hz > LOW_HZ else LOW_WINDOW


@dataclass(frozen=True)
class Spectra:
    """`values` and `slopes` (of the same sound under the window's slope), shape (times, bins)."""

    start_seconds: float  # the middle of the first window
    values: NDArray[np.complex64]
    slopes: NDArray[np.complex64]

    @classmethod
    def of(cls, sound: NDArray[np.float32], start_seconds: float, window: int) -> Spectra:
        """Of a sound whose first sample stands half a window before `start_seconds`.

        A Hann window and its slope are sums of whole turns, so both spectra are sums of neighbours
        in the spectrum without a window (Harris 1978), and one transform serves for two.
        """
        from scipy.fft import rfft  # four times as fast as numpy's on many short windows

        plain = rfft(sliding_window_view(sound, window)[::HOP_FRAMES])
        below = np.concatenate([plain[:, 1:2].conj(), plain[:, :-1]], 1)
        above = np.concatenate([plain[:, 1:], plain[:, -2:-1].conj()], 1)
        slopes = (below - above) * np.complex64(-0.5j * np.pi / window)
        return cls(
            start_seconds, plain * np.float32(0.5) - (below + above) * np.float32(0.25), slopes
        )

    def __len__(self) -> int:
        return len(self.values)

    @property
    def window(self) -> int:
        return int(2 * (self.values.shape[1] - 1))

    @property
    def bin_hz(self) -> float:
        return SAMPLE_RATE_HZ / self.window

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
        teeth = _teeth(hz * 2 ** (cents / 1200) / self.bin_hz, COMB_HIGHEST_HZ / self.bin_hz)
        bins = min(len(teeth), self.sizes.shape[1])
        return np.asarray(np.sqrt(self.sizes[rows, :bins]) @ teeth[:bins])

    def followed(self, hz: float, rows: slice, reach_cents: int = REACH_CENTS) -> Floats:
        """Cents against `hz` at each time, searched within `reach_cents`."""
        grid = np.arange(-reach_cents, reach_cents + 1, GRID_CENTS, dtype=float)
        near_hz = hz * 2 ** (grid[self.comb(grid, hz, rows).argmax(1)] / 1200)
        for _ in range(2):
            near_hz = self.refined(near_hz, rows)
        return np.asarray(1200 * np.log2(near_hz / hz))

    def refined(self, near_hz: Floats, rows: slice) -> Floats:
        """The pitch at each time by its partials' own frequencies, near one already found."""
        numbers = _numbers(near_hz, FINE_PARTIALS)
        hz, size = self._partials(numbers * near_hz, rows)
        hz, weight = hz / numbers, size * numbers
        middle = _weighted_median(hz, weight)
        middle = np.clip(middle, near_hz * 2 ** (-60 / 1200), near_hz * 2 ** (60 / 1200))
        agree = np.abs(1200 * np.log2(np.maximum(hz, 1) / middle)) < 25
        weight = weight * agree + 1e-12
        return np.where(agree.any(0), (weight * hz).sum(0) / weight.sum(0), middle)

    def _partials(self, near_hz: Floats, rows: slice) -> tuple[Floats, Floats]:
        """Frequency and size of the strongest bin next to each of `near_hz`, (partials, times)."""
        times, bins = self._at(near_hz, rows)
        around = np.stack([self.sizes[times, bins + step] for step in (-1, 0, 1)])
        bins = bins + around.argmax(0) - 1
        value = self.values[times, bins]
        power = np.abs(value).astype(float) ** 2 + 1e-12
        turn = np.imag(self.slopes[times, bins] * np.conj(value)) / power
        return bins * self.bin_hz - turn * SAMPLE_RATE_HZ / (2 * np.pi), np.sqrt(power)

    def _at(self, near_hz: Floats, rows: slice) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
        """Times, and the bins nearest to `near_hz` that have neighbours."""
        bins = np.clip(np.rint(near_hz / self.bin_hz).astype(int), 1, self.values.shape[1] - 2)
        return np.arange(*rows.indices(len(self))), bins

    def powers(self, hz: Floats | float, rows: slice, partials: int = FINE_PARTIALS) -> Floats:
        """Power of each partial of a pitch at each time, shape (partials, times)."""
        pitch = np.broadcast_to(np.asarray(hz, float), len(range(*rows.indices(len(self)))))
        times, bins = self._at(_numbers(pitch, partials) * pitch, rows)
        strongest = np.max([self.sizes[times, bins + step] for step in (-1, 0, 1)], axis=0)
        return np.asarray(strongest.astype(float) ** 2)


def _numbers(hz: Floats, most: int) -> NDArray[np.int64]:
    """Of the partials that are looked at, as a column: the first, and all that are not too high."""
    highest = int(FINE_HIGHEST_HZ / hz.max())
    return np.arange(1, np.clip(highest, 1, most) + 1)[:, None]


def _teeth(bins: Floats, highest_bin: float) -> NDArray[np.float32]:
    """The comb of each pitch, which lies at a place between bins: what every bin adds to it."""
    teeth = np.zeros((int(COMB_PARTIALS * bins.max()) + 2, len(bins)), np.float32)
    pitches = np.arange(len(bins))
    for n in range(1, COMB_PARTIALS + 1):
        if n > 1 and n * bins[0] > highest_bin:
            break
        for at, weight in ((n * bins, COMB_FADE**n), ((n - 0.5) * bins, -(COMB_FADE**n))):
            low = at.astype(int)
            teeth[low, pitches] += weight * (1 - (at - low))
            teeth[low + 1, pitches] += weight * (at - low)
    return teeth


def _weighted_median(values: Floats, weights: Floats) -> Floats:
    order = np.argsort(values, 0)
    values, weights = np.take_along_axis(values, order, 0), np.take_along_axis(weights, order, 0)
    sums = np.cumsum(weights, 0)
    return np.asarray(np.take_along_axis(values, (sums >= sums[-1] / 2).argmax(0)[None], 0)[0])
