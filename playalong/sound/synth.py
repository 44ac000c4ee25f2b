"""The renderer: the channels of a MIDI file to dry sound, block by block, at its true pitch.

The MIDI follows the standard and says what should sound; `truepitch` finds the bends that make
FluidSynth sound it. Sound is never held: what is in memory is the list of events and one chunk.
"""

from __future__ import annotations

import heapq
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import mido
import numpy as np
import numpy.typing as npt

from playalong.errors import PlayalongError
from playalong.performance.clock import BLOCK_FRAMES, block_of_tick
from playalong.sound.bankload import check_bank
from playalong.sound.bend import BEND_CENTRE, bend_cents
from playalong.sound.fluid import fluid, fresh_synth
from playalong.sound.truepitch import bend_law, whole_cents

PERCUSSION_CHANNEL = 9
DEFAULT_MICROSECONDS = 500_000  # a quarter at 120, where the file states no tempo (SMF 1.0)
DEFAULT_BEND_RANGE_SEMITONES = 2.0  # General MIDI 1

# Controllers handed on: bank select, volume, pan, expression, release and attack time, reverb
# and chorus send. RPN 0 is read here; the rest, vibrato above all, has no place in a reference.
PASSED_CONTROLLERS = frozenset({0, 7, 10, 11, 32, 72, 73, 91, 93})
_DATA_MSB, _DATA_LSB, _RPN_LSB, _RPN_MSB = 6, 38, 100, 101

ATTENUATION = 48  # SoundFont generator (2.04, 8.1.2), in centibels
CENTIBELS = 10  # in a decibel

# (block, stream, name of the C function, arguments after the synth): sorts by block, then stream
Call = tuple[int, int, str, tuple[Any, ...]]
Wanted = list[tuple[int, float]]  # (block, cents above the key), each until the next


@dataclass(frozen=True)
class Reading:
    """Calls to hand on, by block, and the pitch wanted of every channel that can bend."""

    calls: list[Call]
    wanted: dict[int, Wanted]
    more: tuple[Iterable[Call], ...] = ()  # each by block as well; read once


@dataclass
class _Bending:
    """One channel's bend, read as the MIDI standard has it: RPN 0 sets the range of the bend."""

    wanted: Wanted = field(default_factory=lambda: [(0, 0.0)])
    _bend: int = 0  # above the centre
    _range_semitones: float = DEFAULT_BEND_RANGE_SEMITONES
    _rpn: tuple[int, int] = (127, 127)  # MSB, LSB; this is the null function

    def control(self, block: int, controller: int, value: int) -> None:
        if controller == _RPN_MSB:
            self._rpn = (value, self._rpn[1])
        elif controller == _RPN_LSB:
            self._rpn = (self._rpn[0], value)
        elif self._rpn == (0, 0) and controller == _DATA_MSB:
            self._range_semitones = float(value)
            self.bend(block, self._bend)
        elif self._rpn == (0, 0) and controller == _DATA_LSB:
            self._range_semitones = int(self._range_semitones) + value / 100
            self.bend(block, self._bend)

    def bend(self, block: int, bend: int) -> None:
        self._bend = bend
        cents = bend_cents(BEND_CENTRE + bend, self._range_semitones)
        if self.wanted[-1][0] == block:
            self.wanted[-1] = (block, cents)
        elif self.wanted[-1][1] != cents:
            self.wanted.append((block, cents))


def render(
    midi: mido.MidiFile,
    bank: Path,
    channels: frozenset[int],
    total_blocks: int,
    *,
    chunk_blocks: int = 1024,
) -> Iterator[npt.NDArray[np.float32]]:
    """The sound of some channels (0 to 15) of `midi`, as mono float32 chunks.

    Each chunk has `chunk_blocks` · 64 frames at 44.1 kHz, the last one what is left of
    `total_blocks` · 64. Events act at `clock.block_of_tick`; later ones are left out. Mono is
    the mean of left and right at synthesizer gain 1.0: a voice panned to the centre keeps the
    level that it has on either side in stereo. Equal input gives equal samples, and renders may
    run in parallel threads. A strange bank is checked first, once a process.

    Raises BankError for a bank that will not load or play; PlayalongError for a missing
    FluidSynth, or a tempo anywhere but at the start.
    """
    sides = two_sides(read(midi, channels), bank, total_blocks, chunk_blocks)
    return (each.mean(axis=0) for each in sides)


def two_sides(
    reading: Reading, bank: Path, total_blocks: int, chunk_blocks: int
) -> Iterator[npt.NDArray[np.float32]]:
    """Left and right, shape (2, frames), in an array that is used again; else as `render`."""
    check_bank(bank)
    return _play(reading, bank, total_blocks, chunk_blocks)


def read(midi: mido.MidiFile, channels: frozenset[int]) -> Reading:
    """What some channels of a MIDI file ask of the synthesizer."""
    timed: list[tuple[int, Any]] = []
    microseconds = DEFAULT_MICROSECONDS
    for track in midi.tracks:
        tick = 0
        for message in track:
            tick += message.time
            if message.type == "set_tempo":
                if tick != 0:
                    raise PlayalongError(
                        f"The MIDI changes its tempo at tick {tick}; "
                        "a track keeps the one tempo that it states at its start."
                    )
                microseconds = message.tempo
            elif not message.is_meta and getattr(message, "channel", None) in channels:
                timed.append((tick, message))
    timed.sort(key=lambda pair: pair[0])  # stable: as written within a tick

    bending = {channel: _Bending() for channel in sorted(channels - {PERCUSSION_CHANNEL})}
    calls: list[Call] = []
    for tick, message in timed:
        block = block_of_tick(tick, microseconds, midi.ticks_per_beat)
        channel = message.channel
        if message.type == "pitchwheel" and channel in bending:
            bending[channel].bend(block, message.pitch)
        elif message.type == "control_change" and message.control not in PASSED_CONTROLLERS:
            if channel in bending:
                bending[channel].control(block, message.control, message.value)
        elif message.type in _CALLS:
            name, arguments = _CALLS[message.type]
            values = (channel, *(getattr(message, argument) for argument in arguments))
            calls.append((block, 0, name, values))
    return Reading(calls, {channel: state.wanted for channel, state in bending.items()})


def struck_and_bent(struck: Wanted, bent: Wanted) -> Iterator[tuple[int, float, float]]:
    """Block by block where one of them changes, the value last struck and last bent; at first 0."""
    notes = ((block, True, value) for block, value in struck)
    bends = ((block, False, value) for block, value in bent)
    note = bend = 0.0
    for block, is_note, value in heapq.merge(notes, bends, key=lambda change: change[:2]):
        note, bend = (value, bend) if is_note else (note, value)
        yield block, note, bend


_CALLS = {  # MIDI message: C function, and the message's fields in its order
    "note_on": ("fluid_synth_noteon", ("note", "velocity")),
    "note_off": ("fluid_synth_noteoff", ("note",)),
    "control_change": ("fluid_synth_cc", ("control", "value")),
    "program_change": ("fluid_synth_program_change", ("program",)),
}


def _bend_calls(channel: int, wanted: Wanted, total_blocks: int) -> Iterator[Call]:
    """The bends to send so that the wanted pitch sounds, made as they are needed."""
    law = bend_law()
    semitones = law.range_semitones(max(abs(cents) for _, cents in wanted))
    yield 0, channel + 1, "fluid_synth_pitch_wheel_sens", (channel, semitones)
    for block, cents in whole_cents(wanted, total_blocks):
        yield block, channel + 1, "fluid_synth_pitch_bend", (channel, law.bend(cents, semitones))


def _play(
    reading: Reading, bank: Path, total_blocks: int, chunk_blocks: int
) -> Iterator[npt.NDArray[np.float32]]:
    lib = fluid()
    bends = [_bend_calls(*item, total_blocks) for item in reading.wanted.items()]
    end: Call = (total_blocks, 99, "", ())
    sides = np.empty((2, chunk_blocks * BLOCK_FRAMES), np.float32)
    left, right = (side.ctypes.data for side in sides)
    write = lib.fluid_synth_write_float
    call: dict[str, Callable[..., int]] = vars(lib)
    with fresh_synth(bank) as synth:
        at = chunk_start = 0
        for block, _, name, arguments in heapq.merge(reading.calls, *bends, *reading.more, [end]):
            while at < min(block, total_blocks):
                run = min(block, total_blocks, chunk_start + chunk_blocks) - at
                offset = (at - chunk_start) * BLOCK_FRAMES
                write(synth, run * BLOCK_FRAMES, left, offset, 1, right, offset, 1)
                at += run
                if at in (chunk_start + chunk_blocks, total_blocks):
                    frames = (at - chunk_start) * BLOCK_FRAMES
                    yield sides[:, :frames]
                    chunk_start = at
            if at == total_blocks:
                return
            call[name](synth, *arguments)
