"""True pitch from a synthesizer that cuts pitch to whole cents.

FluidSynth looks frequencies up in a table of whole cents (`fluid_ct2hz_real`, fluid_conv.c) and
takes a bend at 127/128 of its nominal size, because the standard's 12800 cents became 12700
(SoundFont 2.04, 8.4.8 with 8.4). So pitch is commanded in whole cents, chosen so that their mean
is the pitch wanted (first-order sigma-delta), and each is sent half a cent above itself, where
the cut lands on it.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import lru_cache
from itertools import chain, pairwise

import numpy as np
import numpy.typing as npt

from playalong.performance.clock import BLOCK_FRAMES, SAMPLE_RATE_HZ
from playalong.sound.bend import BEND_CENTRE, BEND_TOP, bend_value
from playalong.sound.fluid import fluid, fresh_synth

WIDEST_RANGE_SEMITONES = 72  # FluidSynth refuses more
HELD_STEP_BLOCKS = 4  # a held pitch is stepped this often: 172 times a second


@dataclass(frozen=True)
class BendLaw:
    """How the installed FluidSynth takes bends, as measured."""

    scale: float  # sounding cents for each cent of nominal bend
    lift_cents: float  # what to add to a whole cent so that just this cent sounds

    def range_semitones(self, widest_cents: float) -> int:
        """The bend range to set on a channel so that `widest_cents` either way is in reach."""
        semitones = math.ceil((widest_cents + 2) / (100 * self.scale))
        return min(max(semitones, 2), WIDEST_RANGE_SEMITONES)

    def bend(self, whole_cents: int, range_semitones: int) -> int:
        """The 14-bit bend on which `whole_cents` sounds at that range."""
        nominal = (whole_cents + self.lift_cents) / self.scale
        return bend_value(nominal, range_semitones)


def whole_cents(
    wanted: Iterable[tuple[int, float]], total_blocks: int
) -> Iterator[tuple[int, int]]:
    """Whole cents whose mean is the wanted pitch: (block, cents), only where they change.

    `wanted` holds (block, cents) in rising order, each valid until the next. A pitch that moves
    is stepped wherever it moves; one that holds, at every fourth block of the song, so that all
    channels step together; one that is a whole cent, never.
    """
    owed = 0.5  # cents owed to the mean, 0 ≤ owed < 1; half a cent makes the floor a rounding
    sounding = None
    for (start, cents), (end, _) in pairwise(chain(wanted, [(total_blocks, 0.0)])):
        base = math.floor(cents)
        fraction = cents - base
        grid = range(start + HELD_STEP_BLOCKS - start % HELD_STEP_BLOCKS, end, HELD_STEP_BLOCKS)
        for block in chain((start,), grid if fraction else ()):
            owed += fraction
            carry = owed >= 1
            owed -= carry
            if base + carry != sounding:
                sounding = base + carry
                yield block, sounding


# The probe: a sine of 100 Hz held in memory, bent up six octaves, where one cent in 7200 shows.
_PROBE_PERIOD_FRAMES = 441
_PROBE_LOOP_START = 8  # frames; the SoundFont standard asks for eight on either side (7.10)
_PROBE_KEY = 60
_PROBE_FRAMES = 256 * BLOCK_FRAMES
_SAMPLE_MODES = 54  # SoundFont generator number (8.1.2); 1 loops


@lru_cache(maxsize=1)
def bend_law() -> BendLaw:
    """Measured once a process from two tones, since it belongs to FluidSynth and not to a bank."""
    nominal = 100 * WIDEST_RANGE_SEMITONES * (BEND_TOP - BEND_CENTRE) / BEND_CENTRE
    scale = (math.floor(_probe(BEND_TOP, WIDEST_RANGE_SEMITONES) + 0.1) + 0.5) / nominal
    half_above = BendLaw(scale, 0.5)
    semitones = half_above.range_semitones(1150)
    cut = abs(_probe(half_above.bend(1100, semitones), semitones) - 1100) < 0.2
    return half_above if cut else BendLaw(scale, 0.0)


def _probe(bend: int, range_semitones: int) -> float:
    """Cents above the unbent probe that FluidSynth sounds at `bend`."""
    lib = fluid()
    frames = np.arange(_PROBE_PERIOD_FRAMES + 2 * _PROBE_LOOP_START)
    sine = (16000 * np.sin(2 * np.pi * frames / _PROBE_PERIOD_FRAMES)).astype(np.int16)
    loop_end = _PROBE_LOOP_START + _PROBE_PERIOD_FRAMES
    sound = np.zeros((2, _PROBE_FRAMES), np.float32)
    sample = lib.new_fluid_sample()
    try:
        with fresh_synth(None) as synth:
            lib.fluid_sample_set_sound_data(
                sample, sine.ctypes.data, None, len(sine), SAMPLE_RATE_HZ, 1
            )
            lib.fluid_sample_set_loop(sample, _PROBE_LOOP_START, loop_end)
            lib.fluid_sample_set_pitch(sample, _PROBE_KEY, 0)
            lib.fluid_synth_pitch_wheel_sens(synth, 0, range_semitones)
            lib.fluid_synth_pitch_bend(synth, 0, bend)
            voice = lib.fluid_synth_alloc_voice(synth, sample, 0, _PROBE_KEY, 127)
            lib.fluid_voice_gen_set(voice, _SAMPLE_MODES, 1.0)
            lib.fluid_synth_start_voice(synth, voice)
            left, right = (side.ctypes.data for side in sound)
            lib.fluid_synth_write_float(synth, _PROBE_FRAMES, left, 0, 1, right, 0, 1)
    finally:
        lib.delete_fluid_sample(sample)
    unbent_hz = SAMPLE_RATE_HZ / _PROBE_PERIOD_FRAMES
    return 1200 * math.log2(_peak_hz(sound[0]) / unbent_hz)


def _peak_hz(sound: npt.NDArray[np.float32]) -> float:
    """Frequency of the strongest partial, from its turn of phase between the two halves."""
    half = len(sound) // 2
    first, second = np.fft.rfft(sound.reshape(2, half) * np.blackman(half))
    peak = int(np.argmax(np.abs(first)))
    beyond = np.angle(second[peak] / first[peak]) / (2 * np.pi)  # bins, within half a bin
    return float((peak + beyond) * SAMPLE_RATE_HZ / half)
