"""What is heard of a bank's notes: some are held, and their loudness and pitch are measured.

The fundamental is turned down to 0 Hz by the pitch that it should have; what is left of its
phase's turning is the deviation (the phase vocoder's measure of frequency, Flanagan and Golden
1966, for one known partial).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import mido
import numpy as np
import numpy.typing as npt

from playalong.performance.clock import BLOCK_FRAMES, SAMPLE_RATE_HZ
from playalong.sound.loudness import LoudnessMeter
from playalong.sound.synth import PERCUSSION_CHANNEL, render

NOTE_BLOCKS = 1034  # 1.5 s
STEADY_BLOCKS = (276, 1000)  # after the attack, before the end
STROKE_FRAMES = 4 * SAMPLE_RATE_HZ // 10  # the least of which BS.1770 tells the loudness

_WINDOW_PERIODS, _WINDOW_SECONDS = 6, 0.050  # the longer: tells partials apart, follows vibrato
_WIDEST_CENTS = 100.0
_FAINTEST_DB = -40.0  # below the whole sound, a fundamental is not the note's pitch


@dataclass(frozen=True, order=True)
class Note:
    """A key struck on a General MIDI program (0 to 127), or on the drums."""

    key: int
    velocity: int
    program: int = 0
    on_drums: bool = False


@dataclass(frozen=True)
class Heard:
    """Of one held note: loudness, median deviation and 5th to 95th percentile range of pitch.

    -inf LUFS for silence; cents are infinite where it does not sound its written pitch. Of a
    stroke on the drums there is only the loudness, of its first 0.4 s.
    """

    lufs: float
    offset_cents: float = math.inf
    waver_cents: float = math.inf


def listen(bank: Path, notes: Sequence[Note]) -> tuple[Heard, ...]:
    """Render the notes one after another and say what is heard of each."""
    chunks = render(
        _one_by_one(notes),
        bank,
        frozenset({0, PERCUSSION_CHANNEL}),
        NOTE_BLOCKS * len(notes),
        chunk_blocks=NOTE_BLOCKS,
    )
    return tuple(_heard(note, chunk) for note, chunk in zip(notes, chunks, strict=True))


def _one_by_one(notes: Sequence[Note]) -> mido.MidiFile:
    """Each note for one NOTE_BLOCKS; a tick is a block."""
    ticks_per_beat = 689
    microseconds = round(ticks_per_beat * BLOCK_FRAMES * 1_000_000 / SAMPLE_RATE_HZ)
    track = mido.MidiTrack([mido.MetaMessage("set_tempo", tempo=microseconds)])
    for note in notes:
        channel = PERCUSSION_CHANNEL if note.on_drums else 0
        if not note.on_drums:
            track.append(mido.Message("program_change", program=note.program))
        struck = {"channel": channel, "note": note.key}
        track.append(mido.Message("note_on", velocity=note.velocity, **struck))
        track.append(mido.Message("note_off", time=NOTE_BLOCKS, **struck))
    return mido.MidiFile(ticks_per_beat=ticks_per_beat, tracks=[track])


def _heard(note: Note, sound: npt.NDArray[np.float32]) -> Heard:
    if note.on_drums:
        return Heard(_lufs(sound[:STROKE_FRAMES]))
    first, last = (block * BLOCK_FRAMES for block in STEADY_BLOCKS)
    steady = sound[first:last]
    cents = deviation_cents(steady, 440 * 2 ** ((note.key - 69) / 12))
    if cents is None:
        return Heard(_lufs(steady))
    low, middle, high = np.percentile(cents, (5, 50, 95))
    return Heard(_lufs(steady), float(middle), float(high - low))


def _lufs(sound: npt.NDArray[np.float32]) -> float:
    meter = LoudnessMeter()
    meter.add(sound)
    return meter.integrated_lufs()


def deviation_cents(
    sound: npt.NDArray[np.float32], expected_hz: float
) -> npt.NDArray[np.float64] | None:
    """Cents above `expected_hz`, over time; None where no partial sounds within a semitone."""
    widest_hz = expected_hz * (2 ** (_WIDEST_CENTS / 1200) - 1)
    hop = int(SAMPLE_RATE_HZ / (2.5 * widest_hz))  # phase turns by less than half a circle
    window_seconds = max(_WINDOW_SECONDS, _WINDOW_PERIODS / expected_hz)
    window = np.hanning(round(window_seconds * SAMPLE_RATE_HZ))
    turned = sound * np.exp(-2j * np.pi * expected_hz / SAMPLE_RATE_HZ * np.arange(len(sound)))
    frames = np.lib.stride_tricks.sliding_window_view(turned, len(window))[::hop]
    partial = frames @ (window / window.sum())
    level = float(np.mean(np.abs(partial) ** 2) * 2)
    if level <= 10 ** (_FAINTEST_DB / 10) * float(np.mean(np.square(sound))) or level == 0:
        return None
    turns_hz = np.angle(partial[1:] / partial[:-1]) / (2 * np.pi) * SAMPLE_RATE_HZ / hop
    cents = 1200 * np.log2(1 + turns_hz / expected_hz)
    return None if abs(np.median(cents)) > _WIDEST_CENTS else cents
