"""The guide on the bank that ships: bare strings, equally loud at every pitch, behind one body.

The MIDI names the full voices, which any synthesizer plays. Here the same numbers in another bank
give strings without a body. Their level follows the pitch, bends and all, so that no resonance
makes a note louder than the next; no two notes begin at the same point of string and noise.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterator
from pathlib import Path

import mido
import numpy as np
from numpy.typing import NDArray

from playalong.performance.clock import BLOCK_FRAMES
from playalong.shipped import is_own_bank
from playalong.sound.balance import balanced
from playalong.sound.bodies import BARE_BANK, BODIES, LAW_STEPS, REACH, Body, behind, softening_law
from playalong.sound.midi import GUIDE_CHANNELS
from playalong.sound.synth import (
    ATTENUATION,
    CENTIBELS,
    Call,
    Reading,
    Wanted,
    read,
    struck_and_bent,
    two_sides,
)

_START, _PAN = 0, 17  # SoundFont generators (2.04, 8.1.2)
_LEFT, _RIGHT = -500.0, 500.0  # tenths of a per cent
_HARD_PAN = np.float32(0.5**0.5)  # a voice in the middle has so much of it on either side
_STARTS, _STRIDE = 1500, 927  # points; less than any loop, and the golden section of it
_AFTER_BENDS = 100  # the stream of a call, beyond those of the channels


def guide(
    midi: mido.MidiFile,
    bank: Path,
    program: int,
    channels: frozenset[int],
    total_blocks: int,
    chunk_blocks: int = 1024,
) -> Iterator[NDArray[np.float32]]:
    """As `balanced`; where the bank is ours and the program a bowed one, bare strings on the
    guide's channels behind their body.

    They come out of the synthesizer on the right, the ghost voice on the left.
    """
    if not (is_own_bank(bank) and program in BODIES):
        return balanced(midi, bank, channels, total_blocks, chunk_blocks)
    reading = _strung(read(midi, channels), BODIES[program])
    sides = two_sides(reading, bank, total_blocks + REACH // BLOCK_FRAMES, chunk_blocks)
    return _mixed(sides, BODIES[program], chunk_blocks * BLOCK_FRAMES)


def _mixed(
    sides: Iterator[NDArray[np.float32]], body: Body, chunk_frames: int
) -> Iterator[NDArray[np.float32]]:
    """The strings behind their body, and the ghost voice as it is."""
    ghosts: deque[NDArray[np.float32]] = deque()

    def strings() -> Iterator[NDArray[np.float32]]:
        for left, right in sides:
            ghosts.append(left.copy())
            yield right

    for heard in behind(body, strings(), chunk_frames):
        ghost = ghosts.popleft()[: len(heard)]
        yield (heard + ghost) * _HARD_PAN


def _strung(reading: Reading, body: Body) -> Reading:
    """What was read, with bare strings for the guide's voices."""
    calls: list[Call] = []
    strings = [channel for channel in GUIDE_CHANNELS if channel in reading.wanted]
    for channel in reading.wanted:
        side = _RIGHT if channel in strings else _LEFT
        calls.append((0, 0, "fluid_synth_set_gen", (channel, _PAN, side)))
    keys: dict[int, list[tuple[int, float]]] = {channel: [] for channel in strings}
    for call in reading.calls:
        block, _, name, (channel, *values) = call
        if channel in keys and name == "fluid_synth_program_change":
            calls.append((block, 0, "fluid_synth_bank_select", (channel, BARE_BANK)))
        elif channel in keys and name == "fluid_synth_noteon":
            number = len(GUIDE_CHANNELS) * len(keys[channel]) + channel
            start = float(number * _STRIDE % _STARTS)
            calls.append((block, 0, "fluid_synth_set_gen", (channel, _START, start)))
            keys[channel].append((block, values[0]))
        calls.append(call)
    levels = tuple(_softening(each, keys[each], reading.wanted[each], body) for each in strings)
    return Reading(calls, reading.wanted, levels)


def _softening(
    channel: int, keys: list[tuple[int, float]], wanted: Wanted, body: Body
) -> Iterator[Call]:
    """The attenuation that makes a channel equally loud wherever it is struck and bent."""
    law = softening_law(body)
    before: float | None = None
    for block, key, cents in struck_and_bent(keys, wanted):
        softer = CENTIBELS * law(round(LAW_STEPS * (key + cents / 100)))
        if softer != before:
            before = softer
            values = (channel, ATTENUATION, softer)
            yield block, _AFTER_BENDS + channel, "fluid_synth_set_gen", values
