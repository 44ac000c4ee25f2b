"""The bank played by FluidSynth itself: float samples, a fresh synth for every render."""

from __future__ import annotations

import ctypes
from collections.abc import Callable, Sequence

import fluidsynth
import numpy as np
import pyloudnorm
from bank_parser import BANK
from numpy.typing import NDArray

RATE_HZ = 44_100
BLOCK_FRAMES = 64
VELOCITY, VOLUME, EXPRESSION = 96, 100, 127
BOWED = {40: (53, 106), 41: (46, 98), 42: (34, 90), 43: (24, 73)}  # program: keys promised
DRONE, DRONE_KEYS = 20, (28, 84)
GHOST, GHOST_KEYS = 79, (28, 100)
VOICES = {**BOWED, DRONE: DRONE_KEYS, GHOST: GHOST_KEYS}

Floats = NDArray[np.float64]
Event = tuple[float, Callable[[fluidsynth.Synth], object]]


def key_hz(key: int) -> float:
    return 440 * 2 ** ((key - 69) / 12)


def render(programs: Sequence[tuple[int, int]], events: Sequence[Event], seconds: float) -> Floats:
    """Both channels, shape (2, frames). `programs` gives (bank, program) of channels 0, 1, ..."""
    synth = fluidsynth.Synth(gain=1.0, samplerate=RATE_HZ)
    try:
        synth.setting("synth.reverb.active", 0)
        synth.setting("synth.chorus.active", 0)
        font = synth.sfload(str(BANK))
        for channel, (bank, program) in enumerate(programs):
            assert synth.program_select(channel, font, bank, program) == 0
            synth.cc(channel, 7, VOLUME)
            synth.cc(channel, 11, EXPRESSION)
        parts, done = [], 0
        for at, act in sorted(events, key=lambda event: event[0]):
            frame = round(at * RATE_HZ / BLOCK_FRAMES) * BLOCK_FRAMES
            parts.append(_frames(synth, frame - done))
            done = frame
            act(synth)
        parts.append(_frames(synth, round(seconds * RATE_HZ) - done))
        return np.concatenate(parts, axis=1)
    finally:
        synth.delete()


def _frames(synth: fluidsynth.Synth, count: int) -> Floats:
    buffers = np.zeros((2, count), dtype=np.float32)
    left, right = (one.ctypes.data_as(ctypes.c_void_p) for one in buffers)
    write = fluidsynth._fl.fluid_synth_write_float
    write(ctypes.c_void_p(synth.synth), count, left, 0, 1, right, 0, 1)
    return buffers.astype(np.float64)


def on(channel: int, key: int) -> Callable[[fluidsynth.Synth], object]:
    return lambda synth: synth.noteon(channel, key, VELOCITY)


def off(channel: int, key: int) -> Callable[[fluidsynth.Synth], object]:
    return lambda synth: synth.noteoff(channel, key)


def held(program: int, key: int, seconds: float, bank: int = 0) -> Floats:
    """One note from frame 0, left channel."""
    return render([(bank, program)], [(0, on(0, key))], seconds)[0]


def level_db(wave: Floats) -> float:
    return float(10 * np.log10(np.mean(wave**2) + 1e-30))


def ripple_db(wave: Floats) -> float:
    """Loudest less softest RMS over 100 ms, every 10 ms."""
    window, hop = RATE_HZ // 10, RATE_HZ // 100
    energy = np.concatenate([[0], np.cumsum(wave**2)])
    starts = np.arange(0, len(wave) - window + 1, hop)
    levels = 10 * np.log10(energy[starts + window] - energy[starts])
    return float(levels.max() - levels.min())


def loudness_lufs(left: Floats) -> float:
    meter = pyloudnorm.Meter(RATE_HZ, filter_class="DeMan")
    return float(meter.integrated_loudness(np.stack([left, left], axis=1)))
