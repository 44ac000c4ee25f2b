"""The bodies of bowed instruments: they stay where they are while the string moves.

The bank that ships has bare strings; the renderer sets one fixed filter behind them. So a bent
note has the colour of one that is struck there, and a slide does not drag the body along. The
bank's recipe makes its full voices, which other synthesizers play, from the same tables.

Resonances (air, main wood modes, bridge hill) are common practice, rounded, and broader than a
real body's, so that one key does not stand out from the next, and no partial of a fast slide is
bent: what moves by an octave in 132 ms through a peak of Q 4 strays by up to 40 cents.
"""

from __future__ import annotations

import functools
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view
from numpy.typing import NDArray

from playalong.performance.clock import SAMPLE_RATE_HZ

Floats = NDArray[np.float64]

FADE_HZ, TOP_HZ = 7_500.0, 10_000.0  # where a body's sound fades, and is gone
# A bare string goes on further, so that nothing is missing where it is bent down, and ends where
# an octave's bend brings no partial back below the top of its body.
STRING_FADE_HZ, STRING_TOP_HZ = 12_000.0, 15_000.0
REACH = 1024  # frames of the filter to either side: 23 ms, a whole number of blocks
TAPER = 0.5  # of the filter's length, where it fades to nothing
TRANSFORM = 18_432  # points of one step of the filtering; the fastest of those tried

BARE_BANK = 1  # where the bare strings stand, under the programs of the full voices
BARE_DB = -11.0  # power of a bare string in the bank, full scale 0
GUIDE_DB = -14.0  # K-weighted power of a bowed voice behind its body, full scale 0
LAW_STEPS, HIGHEST_KEY = 12, 118  # steps a half step of the law of softening, and where it ends


@dataclass(frozen=True)
class Body:
    """How an instrument radiates: a floor of 1, peaks above it, less below and high up."""

    peaks: tuple[tuple[float, float, float], ...]  # hz, Q, height in db above the floor
    low_hz: float  # below, the body is too small to radiate: 12 db an octave
    high_hz: float  # above, the string and the body lose strength: 18 db an octave


VIOLIN = Body(
    peaks=((275, 2, 4), (500, 1.8, 7), (950, 2, 3), (2500, 1.3, 10)),
    low_hz=150,
    high_hz=4200,
)
VIOLA = Body(
    peaks=((225, 1.6, 4), (400, 1.5, 7), (750, 2, 4), (1900, 1.3, 9)),
    low_hz=100,
    high_hz=3400,
)
CELLO = Body(
    peaks=((200, 1.2, 6), (400, 2, 4), (1400, 1.3, 8)),
    low_hz=40,
    high_hz=2700,
)
CONTRABASS = Body(
    peaks=((105, 1, 4), (300, 1.5, 4), (850, 1.3, 8)),
    low_hz=36,
    high_hz=1900,
)
BODIES = {40: VIOLIN, 41: VIOLA, 42: CELLO, 43: CONTRABASS}  # by General MIDI program


def radiation(body: Body, hz: Floats) -> Floats:
    """Amplitude gain of a body: powers of floor and peaks add, so no notch can fall on a note."""
    power = np.ones_like(hz)
    for peak_hz, q, height_db in body.peaks:
        power += (10 ** (height_db / 10) - 1) / (1 + (q * (hz / peak_hz - peak_hz / hz)) ** 2)
    low = (hz / body.low_hz) ** 2 / (1 + (hz / body.low_hz) ** 2)
    high = (1 + (hz / body.high_hz) ** 2) ** -1.5
    return np.asarray(np.sqrt(power) * low * high * fade(hz, FADE_HZ, TOP_HZ), dtype=np.float64)


def fade(hz: Floats, from_hz: float, to_hz: float) -> Floats:
    """Amplitude gain that falls smoothly from 1 to 0."""
    left = np.clip((to_hz - hz) / (to_hz - from_hz), 0, 1)
    return np.asarray((3 - 2 * left) * left**2, dtype=np.float64)


def string_gains(hz: Floats) -> Floats:
    """Amplitudes of a bowed string's partials at `hz`, the first at 1/1, the n-th at 1/n."""
    return fade(hz, STRING_FADE_HZ, STRING_TOP_HZ) / np.arange(1, len(hz) + 1)


def k_weight(hz: Floats) -> Floats:
    """Amplitude gain of the two K-weighting filters (ITU-R BS.1770, 48 kHz coefficients)."""
    z = np.exp(-2j * np.pi * np.asarray(hz) / 48_000)
    shelf = (1.53512485958697 - 2.69169618940638 * z + 1.19839281085285 * z**2) / (
        1 - 1.69065929318241 * z + 0.73248077421585 * z**2
    )
    high_pass = (1 - z) ** 2 / (1 - 1.99004745483398 * z + 0.99007225036621 * z**2)
    return np.asarray(np.abs(shelf * high_pass), dtype=np.float64)


def softening_db(body: Body, hz: float) -> float:
    """By how much a bare string at `hz` is to be softened so that, behind the body, every pitch
    is equally loud (K-weighted)."""
    partials: Floats = hz * np.arange(1.0, int(STRING_TOP_HZ / hz) + 1)
    bare = string_gains(partials)
    heard = bare * radiation(body, partials) * k_weight(partials)
    return float(BARE_DB - GUIDE_DB + 10 * np.log10(np.sum(heard**2) / np.sum(bare**2)))


@functools.cache
def softening_law(body: Body) -> Callable[[int], float]:
    """`softening_db` by the number of LAW_STEPS above MIDI key 0; never below zero.

    Each is worked out when it is first asked for: a drill asks for few of them.
    """

    @functools.cache
    def law(step: int) -> float:
        key = min(max(step, 0), HIGHEST_KEY * LAW_STEPS - 1) / LAW_STEPS
        return max(0.0, softening_db(body, 440 * 2 ** ((key - 69) / 12)))

    return law


@functools.cache
def impulse(body: Body) -> NDArray[np.float32]:
    """The body as a filter of 2 REACH + 1 taps that turns no phase: as a slide passes a resonance,
    a turning phase would bend its pitch by some cents."""
    hz: Floats = np.arange(1.0, TRANSFORM // 2 + 1) * (SAMPLE_RATE_HZ / TRANSFORM)
    gains = np.concatenate([[0.0], radiation(body, hz)])
    around = np.roll(np.fft.irfft(gains, TRANSFORM), REACH)[: 2 * REACH + 1]
    edge = np.clip((1 - np.abs(np.linspace(-1, 1, 2 * REACH + 1))) / TAPER, 0, 1)
    return np.asarray(around * np.sin(np.pi / 2 * edge) ** 2, np.float32)


def behind(
    body: Body, blocks: Iterable[NDArray[np.float32]], block_frames: int
) -> Iterator[NDArray[np.float32]]:
    """A stream of shape (frames,) heard through a body, by overlap and save, in blocks of
    `block_frames`. It ends REACH frames early: the filter looks so far ahead."""
    spectrum = np.fft.rfft(impulse(body), TRANSFORM).astype(np.complex64)
    before = np.zeros(2 * REACH, np.float32)
    ready = np.zeros(0, np.float32)
    ahead = REACH  # frames that lie before the start
    for block in blocks:
        window = np.concatenate([before, block])
        before = window[len(block) :]
        heard = _filtered(window, spectrum) if window.any() else np.zeros_like(block)
        ready = np.concatenate([ready, heard[ahead:]])
        ahead = max(0, ahead - len(heard))
        while len(ready) >= block_frames:
            yield ready[:block_frames]
            ready = ready[block_frames:]
    if len(ready):
        yield ready


def _filtered(window: NDArray[np.float32], spectrum: NDArray[np.complex64]) -> NDArray[np.float32]:
    """The part of a window whose every frame has 2 REACH frames before it."""
    from scipy.fft import irfft, rfft  # takes a window's steps together: twice as fast as numpy's

    step = TRANSFORM - 2 * REACH
    heard = len(window) - 2 * REACH
    steps = -(-heard // step)
    padded = np.zeros(steps * step + 2 * REACH, np.float32)
    padded[: len(window)] = window
    through = irfft(rfft(sliding_window_view(padded, TRANSFORM)[::step]) * spectrum, TRANSFORM)
    return np.asarray(through[:, 2 * REACH :].reshape(-1)[:heard], np.float32)
