"""A stranger's bank, brought to the balance of our own: every note is measured, then played.

Each note that will sound is heard beforehand (`voices`) at its own key and velocity. It is played
at the loudness that our own bank gives it, so that guide, ghost, drone and click stand to each
other as ever, and moved by as many cents as its steady part is off. Waver stays, and so does what
a slide makes of a sample: both are in the bank's recordings.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from functools import lru_cache
from pathlib import Path

import mido
import numpy as np
from numpy.typing import NDArray

from playalong.shipped import is_own_bank
from playalong.sound.bankload import check_bank
from playalong.sound.midi import CLICK_CHANNEL, CLICK_KEYS, DRONE_PROGRAM, GHOST_PROGRAM, SWEEP_KEY
from playalong.sound.synth import (
    ATTENUATION,
    CENTIBELS,
    Call,
    Reading,
    Wanted,
    read,
    render,
    struck_and_bent,
    two_sides,
)
from playalong.sound.voices import Heard, Note, listen

# Our own bank's loudness at a velocity of 96: LUFS of a held tone, and of a stroke's first 0.4 s.
GUIDE_LUFS = -25.6
VOICE_LUFS = {GHOST_PROGRAM: -34.6, DRONE_PROGRAM: -34.6}
CLICK_LUFS = {SWEEP_KEY: -34.9, CLICK_KEYS[True]: -35.5, CLICK_KEYS[False]: -38.4}
LOUDNESS_VELOCITY = 96

WIDEST_WAVER_CENTS = 20.0  # of one that wavers more, a second does not tell the middle to a cent
HEADROOM_DB = 40.0  # notes are only ever softened, and the whole is raised again by so much


def balanced(
    midi: mido.MidiFile,
    bank: Path,
    channels: frozenset[int],
    total_blocks: int,
    chunk_blocks: int = 1024,
) -> Iterator[NDArray[np.float32]]:
    """As `synth.render`, with each note at the pitch written and as loud as our bank plays it."""
    if is_own_bank(bank):
        return render(midi, bank, channels, total_blocks, chunk_blocks=chunk_blocks)
    reading = read(midi, channels)
    struck = _struck(reading)
    notes = tuple(sorted(set(struck.values())))
    if notes:
        check_bank(bank)
        stat = bank.stat()
        found = dict(zip(notes, _found(bank, stat.st_size, stat.st_mtime_ns, notes), strict=True))
        reading = _corrected(reading, {at: found[note] for at, note in struck.items()}, struck)
    raised = np.float32(10 ** (HEADROOM_DB / 20))
    sides = two_sides(reading, bank, total_blocks, chunk_blocks)
    return (each.mean(axis=0) * raised for each in sides)


def ours_lufs(note: Note) -> float:
    """How loud our own bank is at this note; softer velocities by the curve of SoundFont 2.04."""
    softer_db = 40 * math.log10(LOUDNESS_VELOCITY / note.velocity)
    table, key = (CLICK_LUFS, note.key) if note.on_drums else (VOICE_LUFS, note.program)
    return table.get(key, GUIDE_LUFS) - softer_db


@lru_cache(maxsize=256)
def _found(
    bank: Path, _size_bytes: int, _mtime_ns: int, notes: tuple[Note, ...]
) -> tuple[Heard, ...]:
    return listen(bank, notes)


def _struck(reading: Reading) -> dict[int, Note]:
    """The notes, by their places among the calls."""
    programs: dict[int, int] = {}
    notes: dict[int, Note] = {}
    for place, (_, _, name, (channel, *values)) in enumerate(reading.calls):
        if name == "fluid_synth_program_change":
            programs[channel] = values[0]
        elif name == "fluid_synth_noteon" and values[1]:
            key, velocity = values
            on_drums = channel == CLICK_CHANNEL
            program = 0 if on_drums else programs.get(channel, 0)
            notes[place] = Note(key, velocity, program, on_drums)
    return notes


def _corrected(reading: Reading, heard: Mapping[int, Heard], struck: Mapping[int, Note]) -> Reading:
    """What was read, with every note at its loudness and moved to its pitch."""
    calls: list[Call] = []
    off: dict[int, Wanted] = {channel: [] for channel in reading.wanted}
    for place, call in enumerate(reading.calls):
        if place in struck:
            block, _, _, (channel, *_) = call
            softer = CENTIBELS * _softer_db(heard[place], struck[place])
            calls.append((block, 0, "fluid_synth_set_gen", (channel, ATTENUATION, softer)))
            if channel in off:
                off[channel].append((block, steady_cents(heard[place])))
        calls.append(call)
    return Reading(calls, {each: _moved(reading.wanted[each], off[each]) for each in off})


def steady_cents(heard: Heard) -> float:
    """How much too high a note stands, as far as that can be told and set right."""
    return heard.offset_cents if heard.waver_cents <= WIDEST_WAVER_CENTS else 0.0


def _softer_db(heard: Heard, note: Note) -> float:
    """How far below HEADROOM_DB above itself a note is to sound; a silent one stays as it is."""
    louder_db = heard.lufs - ours_lufs(note) if math.isfinite(heard.lufs) else 0.0
    return max(HEADROOM_DB + louder_db, 0.0)


def _moved(wanted: Wanted, off: Wanted) -> Wanted:
    """The pitch to ask for, where from some blocks on notes sound so many cents too high."""
    moved: Wanted = []
    for block, too_high, cents in struck_and_bent(off, wanted):
        if moved and moved[-1][0] == block:
            moved.pop()
        moved.append((block, cents - too_high))
    return moved
