"""How true a bank is: some notes held, their pitch measured against the keys that they play.

The fundamental is turned down to 0 Hz by the pitch that it should have; what is left of its
phase's turning is the deviation (the phase vocoder's measure of frequency, Flanagan and Golden
1966, for one known partial).
"""

from __future__ import annotations

import json
import math
from dataclasses import astuple, dataclass
from pathlib import Path

import mido
import numpy as np
import numpy.typing as npt

from playalong.performance.clock import BLOCK_FRAMES, SAMPLE_RATE_HZ
from playalong.shipped import BANK_PLACES
from playalong.sound.bankload import check_bank, in_child, trust
from playalong.sound.synth import render

NOTE_BLOCKS = 1034  # 1.5 s
STEADY_BLOCKS = (276, 1000)  # after the attack, before the end
KEYS = {40: (55, 88), 41: (48, 81), 42: (36, 76), 43: (28, 62)}  # General MIDI program: range
OTHER_KEYS = (48, 84)
KEY_STEP = 7  # semitones between the keys measured

TRUE_CENTS = 1.0
FAIR_CENTS = 5.0  # about the least difference that a trained ear tells in a tone (common practice)
_WINDOW_PERIODS, _WINDOW_SECONDS = 6, 0.050  # the longer: tells partials apart, follows vibrato
_WIDEST_CENTS = 100.0
_FAINTEST_DB = -40.0  # below the whole sound, a fundamental is not the note's pitch


@dataclass(frozen=True)
class KeyTruth:
    """One held note: median deviation and 5th to 95th percentile range, both in cents."""

    key: int
    offset_cents: float
    waver_cents: float


@dataclass(frozen=True)
class BankTruth:
    """The notes measured; a key that does not sound at its written pitch is infinitely off."""

    keys: tuple[KeyTruth, ...]

    @property
    def worst_offset_cents(self) -> float:
        return max((key.offset_cents for key in self.keys), key=abs)

    @property
    def worst_waver_cents(self) -> float:
        return max(key.waver_cents for key in self.keys)

    @property
    def verdict(self) -> str:
        """One sentence for the player."""
        mute = [str(key.key) for key in self.keys if math.isinf(key.offset_cents)]
        if mute:
            return (
                "Do not tune to this bank: it does not sound the written pitch "
                f"at MIDI key {', '.join(mute)}."
            )
        off, waver = abs(self.worst_offset_cents), self.worst_waver_cents
        figures = (
            f"its notes stand up to {_figure(off)} cents off pitch "
            f"and waver over up to {_figure(waver)} cents"
        )
        worst = max(off, waver / 2)
        if worst <= TRUE_CENTS:
            return f"This bank is true: {figures}."
        if worst <= FAIR_CENTS:
            return f"This bank is fair: {figures}, which a fine ear can hear."
        return f"Do not tune to this bank: {figures}."


def _figure(cents: float) -> str:
    """To the next higher tenth, so that no sentence says less than was measured."""
    return f"{math.ceil(cents * 10) / 10:.1f}"


def measure_bank(bank: Path, program: int) -> BankTruth:
    """Render held notes of a General MIDI program (0 to 127) through the range and measure them.

    A strange bank is measured in a process of its own, whose time is limited. Raises BankError
    for one that will not load or takes too long.
    """
    if bank.absolute() in BANK_PLACES:
        return _measured(bank, program)
    check_bank(bank)
    figures = json.loads(in_child(__name__, bank, program))
    return BankTruth(tuple(KeyTruth(*key) for key in figures))


def child(path: str, program: int) -> None:
    """The child's side: key, offset and waver of each note, as JSON."""
    bank = Path(path)
    trust(bank)
    print(json.dumps([astuple(key) for key in _measured(bank, program).keys]))


def _measured(bank: Path, program: int) -> BankTruth:
    low, high = KEYS.get(program, OTHER_KEYS)
    keys = range(low, high + 1, KEY_STEP)
    first, last = (block * BLOCK_FRAMES for block in STEADY_BLOCKS)
    chunks = render(
        _held_notes(keys, program),
        bank,
        frozenset({0}),
        NOTE_BLOCKS * len(keys),
        chunk_blocks=NOTE_BLOCKS,
    )
    return BankTruth(
        tuple(_truth(key, chunk[first:last]) for key, chunk in zip(keys, chunks, strict=True))
    )


def _held_notes(keys: range, program: int) -> mido.MidiFile:
    """Each key for one NOTE_BLOCKS; a tick is a block."""
    ticks_per_beat = 689
    microseconds = round(ticks_per_beat * BLOCK_FRAMES * 1_000_000 / SAMPLE_RATE_HZ)
    track = mido.MidiTrack(
        [
            mido.MetaMessage("set_tempo", tempo=microseconds),
            mido.Message("program_change", program=program),
        ]
    )
    for key in keys:
        track.append(mido.Message("note_on", note=key, velocity=90))
        track.append(mido.Message("note_off", note=key, time=NOTE_BLOCKS))
    return mido.MidiFile(ticks_per_beat=ticks_per_beat, tracks=[track])


def _truth(key: int, sound: npt.NDArray[np.float32]) -> KeyTruth:
    cents = deviation_cents(sound, 440 * 2 ** ((key - 69) / 12))
    if cents is None:
        return KeyTruth(key, math.inf, math.inf)
    low, middle, high = np.percentile(cents, (5, 50, 95))
    return KeyTruth(key, float(middle), float(high - low))


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
