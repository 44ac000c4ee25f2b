"""The recording read on the track's clock: drift is gone, and every note is where it is due."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from playalong.performance.clock import SAMPLE_RATE_HZ
from playalong.take.filters import twice_as_dense
from playalong.take.recording import Samples, Sounds
from playalong.take.spectra import HOP_FRAMES, Spectra
from playalong.take.sweeps import Placed

AROUND_FRAMES = 64  # what filter and spline reach to


@dataclass(frozen=True)
class OnTrackClock:
    """A recording, by the track's seconds, at 44.1 kHz."""

    recording: Sounds
    placed: Placed

    @property
    def from_seconds(self) -> float:
        """Where the recording begins."""
        return -self.placed.offset_seconds * self._stretch

    @property
    def to_seconds(self) -> float:
        length = self.recording.frames / self.recording.rate_hz
        return (length - self.placed.offset_seconds) * self._stretch

    @property
    def _stretch(self) -> float:
        return 1 + (self.placed.ppm or 0.0) * 1e-6

    def _places(self, frames: NDArray[np.int64]) -> NDArray[np.float64]:
        """Where frames of the track's clock lie among those of the recording."""
        seconds = self.placed.seconds_in_recording(frames / SAMPLE_RATE_HZ)
        return np.asarray(seconds * self.recording.rate_hz)

    def as_recorded(self, start: int, stop: int) -> Samples:
        """The same stretch at the recording's own rate and clock, which takes no work."""
        first, last = self._places(np.array([start, stop]))
        return self.recording.read(int(first), int(last))

    def read(self, start: int, stop: int) -> Samples:
        """Frames of the track's clock: twice oversampled, then cubic."""
        from scipy.ndimage import map_coordinates, spline_filter1d

        at = self._places(np.arange(start, stop))
        first = int(at[0]) - AROUND_FRAMES
        sound = self.recording.read(first, int(at[-1]) + AROUND_FRAMES)
        spline = spline_filter1d(twice_as_dense(sound), 3, output=np.float32)
        places = [2 * (at - first)]
        read = map_coordinates(spline, places, order=3, prefilter=False, output=np.float32)
        return np.asarray(read)


def spectra(
    sound: OnTrackClock | Sounds, from_seconds: float, to_seconds: float, window: int
) -> Spectra:
    """Spectra of a stretch of something that is on the track's clock."""
    first = math.floor(
        from_seconds * SAMPLE_RATE_HZ / HOP_FRAMES
    )  # a hop of the track, so that two agree
    hops = max(int((to_seconds - from_seconds) * SAMPLE_RATE_HZ / HOP_FRAMES), 1)
    start = first * HOP_FRAMES - window // 2
    samples = sound.read(start, start + window + hops * HOP_FRAMES)
    return Spectra.of(samples, first * HOP_FRAMES / SAMPLE_RATE_HZ, window)
