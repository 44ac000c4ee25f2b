"""How true a bank is: some notes of every voice that will sound are held and measured."""

from __future__ import annotations

import json
import math
from collections.abc import Iterator
from dataclasses import astuple, dataclass
from pathlib import Path

from playalong.shipped import is_own_bank
from playalong.sound.bankload import check_bank, in_child, trust
from playalong.sound.midi import (
    CLICK_KEYS,
    CLICK_VELOCITY,
    DRONE_PROGRAM,
    DRONE_VELOCITY,
    GHOST_PROGRAM,
    GHOST_VELOCITY,
    SWEEP_KEY,
    VELOCITY,
)
from playalong.sound.voices import Heard, Note, listen

KEYS = {40: (55, 88), 41: (48, 81), 42: (36, 76), 43: (28, 62)}  # General MIDI program: range
OTHER_KEYS = (48, 84)
KEY_STEP = 7  # semitones between the keys measured
DRONE_SEMITONES = (
    19  # its highest tonic stands less than an octave above the lowest note, a fifth on
)

TRUE_CENTS = 1.0
FAIR_CENTS = 5.0  # about the least difference that a trained ear tells in a tone (common practice)


@dataclass(frozen=True)
class KeyTruth:
    """One held note: median deviation and 5th to 95th percentile range, both in cents.

    Infinite where it does not sound at its written pitch; of a click, where it is silent.
    """

    key: int
    offset_cents: float
    waver_cents: float
    voice: str = "guide"


@dataclass(frozen=True)
class BankTruth:
    """The notes measured, of every voice."""

    keys: tuple[KeyTruth, ...]

    @property
    def worst_offset(self) -> KeyTruth:
        return max(self.keys, key=lambda key: abs(key.offset_cents))

    @property
    def worst_waver(self) -> KeyTruth:
        return max(self.keys, key=lambda key: key.waver_cents)

    @property
    def verdict(self) -> str:
        """One sentence for the player; what a bank is off is set right, so waver decides."""
        if mute := list(self._mute()):
            return f"Do not tune to this bank: {' and '.join(mute)}."
        off, waver = abs(self.worst_offset.offset_cents), self.worst_waver.waver_cents
        offset = f"its notes stand up to {_figure(off)} cents off pitch"
        wavers = f"waver over up to {_figure(waver)} cents"
        if off > TRUE_CENTS:
            offset += f" ({self.worst_offset.voice}), set right where they hold still,"
        if waver / 2 <= TRUE_CENTS:
            return f"This bank is true: {offset} and {wavers}."
        wavers += f" ({self.worst_waver.voice}), which cannot be set right"
        if waver / 2 <= FAIR_CENTS:
            return f"This bank is fair: {offset} and {wavers} and a fine ear can hear."
        return f"Do not tune to this bank: {offset} and {wavers}."

    def _mute(self) -> Iterator[str]:
        """What does not sound, a phrase for each voice."""
        for voice in dict.fromkeys(key.voice for key in self.keys):
            mute = [k.key for k in self.keys if k.voice == voice and math.isinf(k.offset_cents)]
            if mute:
                lacks = "is silent" if voice == "click" else "does not sound the written pitch"
                yield f"its {voice} {lacks} at MIDI key {', '.join(map(str, mute))}"


def _figure(cents: float) -> str:
    """To the next higher tenth, so that no sentence says less than was measured."""
    return f"{math.ceil(cents * 10) / 10:.1f}"


def measure_bank(bank: Path, program: int) -> BankTruth:
    """Hold notes of a General MIDI program (0 to 127), of ghost, drone and click, and measure them.

    A strange bank is measured in a process of its own, whose time is limited. Raises BankError
    for one that will not load or takes too long.
    """
    if is_own_bank(bank):
        return _measured(bank, program)
    check_bank(bank)
    figures = json.loads(in_child(__name__, bank, program))
    return BankTruth(tuple(KeyTruth(*key) for key in figures))


def child(path: str, program: int) -> None:
    """The child's side: key, offset, waver and voice of each note, as JSON."""
    bank = Path(path)
    trust(bank)
    print(json.dumps([astuple(key) for key in _measured(bank, program).keys]))


def _measured(bank: Path, program: int) -> BankTruth:
    voices, notes = zip(*_notes(program), strict=True)
    heard = listen(bank, notes)
    return BankTruth(tuple(map(_truth, voices, notes, heard)))


def _notes(program: int) -> Iterator[tuple[str, Note]]:
    """Voices and notes to measure: every fifth through their range, and every click."""
    low, high = KEYS.get(program, OTHER_KEYS)
    for key in range(low, high + 1, KEY_STEP):
        yield "guide", Note(key, VELOCITY["full"], program)
    for key in range(low, high + 1, KEY_STEP):
        yield "ghost", Note(key, GHOST_VELOCITY["full"], GHOST_PROGRAM)
    for key in range(low, low + DRONE_SEMITONES + 1, KEY_STEP):
        yield "drone", Note(key, DRONE_VELOCITY, DRONE_PROGRAM)
    for key in (SWEEP_KEY, *CLICK_KEYS.values()):
        yield "click", Note(key, CLICK_VELOCITY[True], on_drums=True)


def _truth(voice: str, note: Note, heard: Heard) -> KeyTruth:
    if note.on_drums:
        off = math.inf if math.isinf(heard.lufs) else 0.0
        return KeyTruth(note.key, off, off, voice)
    return KeyTruth(note.key, heard.offset_cents, heard.waver_cents, voice)
