"""The sound of a rung: stems from the exported MIDI, and one gain for all its stages.

The gain brings the fullest stage to the target loudness, so that drone and click stand at the
same level in every stage. What stages share is rendered once and read again from disk.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import ExitStack
from pathlib import Path
from types import TracebackType
from typing import Self

import mido
import numpy as np
from numpy.typing import NDArray

from playalong.performance.performance import Performance
from playalong.shipped import own_bank
from playalong.sound.balance import balanced
from playalong.sound.bankload import check_bank
from playalong.sound.disk_buffer import DiskBuffer
from playalong.sound.loudness import LoudnessMeter, gain_to
from playalong.sound.midi import STEMS, midi_file
from playalong.sound.mix import Blocks, mix, split
from playalong.sound.strings import guide

TARGET_LUFS = -18.0
CEILING_DBTP = -1.0
CHUNK_BLOCKS = 1024  # 65,536 frames
GUIDE, *BED = STEMS  # the bed, drone and click, is the same in every stage


class TrackSound:
    """One performance as MIDI and as the stems rendered from that MIDI."""

    def __init__(self, performance: Performance, bank: Path) -> None:
        self.midi: mido.MidiFile = midi_file(performance)
        self.bank = bank
        self.program = performance.score.drill.instrument.program
        self.blocks = performance.blocks

    def stem(self, name: str) -> Iterator[NDArray[np.float32]]:
        """The guide (with its ghost notes), the drone or the click, at gain 1."""
        channels = STEMS[name]
        if name == GUIDE:
            return guide(self.midi, self.bank, self.program, channels, self.blocks, CHUNK_BLOCKS)
        return balanced(self.midi, self.bank, channels, self.blocks, CHUNK_BLOCKS)

    def mixed(self, gain: float, *, in_two_ears: bool = False) -> Iterator[NDArray[np.float32]]:
        """All stems together: mono, or the guide left and the others right."""
        return together([self.stem(name) for name in STEMS], gain, in_two_ears=in_two_ears)


class RungSound:
    """The tracks of one rung; drone and click are rendered once for all that share them."""

    def __init__(self, bank: Path) -> None:
        self._bank = bank
        self._buffers = ExitStack()
        self._shared: dict[object, DiskBuffer] = {}
        self._sounds: dict[str, TrackSound] = {}

    def track(self, performance: Performance) -> TrackSound:
        name = performance.stage.name
        if name not in self._sounds:
            self._sounds[name] = TrackSound(performance, self._bank)
        return self._sounds[name]

    def stem(self, performance: Performance, name: str) -> Iterator[NDArray[np.float32]]:
        """One stem at gain 1; drone and click come from disk after the first time."""
        if name == GUIDE:
            return self.track(performance).stem(name)
        on = getattr(performance.stage, name)
        return self._buffered((name, on, performance.blocks), performance, name).blocks()

    def keep_guide(self, performance: Performance) -> Iterator[NDArray[np.float32]]:
        """The guide of a performance that will be needed twice."""
        return self._buffered((GUIDE, performance.stage.name), performance, GUIDE).blocks()

    def _buffered(self, what: object, performance: Performance, name: str) -> DiskBuffer:
        if what not in self._shared:
            buffer = DiskBuffer(self.track(performance).stem(name))
            self._buffers.callback(buffer.close)
            self._shared[what] = buffer
        return self._shared[what]

    def stems(self, performance: Performance) -> list[Iterator[NDArray[np.float32]]]:
        kept = (GUIDE, performance.stage.name) in self._shared
        guide = self.keep_guide(performance) if kept else self.stem(performance, GUIDE)
        return [guide, *(self.stem(performance, name) for name in BED)]

    def gain(self, fullest: Performance) -> float:
        """The linear gain that brings the fullest track to the target loudness."""
        self.keep_guide(fullest)
        return gain_for(mix(self.stems(fullest), 1.0))

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self._buffers.close()


def together(
    stems: list[Iterator[NDArray[np.float32]]], gain: float, *, in_two_ears: bool
) -> Iterator[NDArray[np.float32]]:
    """Guide, drone and click in this order: mixed, or the guide left and the others right."""
    guide, *others = stems
    return split(guide, others, gain) if in_two_ears else mix([guide, *others], gain)


def render(performance: Performance, bank: Path | None = None) -> NDArray[np.float32]:
    """A whole track as mono samples at 44.1 kHz, shape (frames,), at the target loudness.

    With the bank that ships where none is named. BankError for one that cannot be used.
    """
    bank = bank or own_bank()
    check_bank(bank)
    sound = TrackSound(performance, bank)
    gain = gain_for(sound.mixed(1.0))
    return np.concatenate(list(sound.mixed(gain)))


def gain_for(sound: Blocks) -> float:
    """The linear gain that brings a sound to the target loudness within the peak ceiling."""
    meter = LoudnessMeter()
    for block in sound:
        meter.add(block)
    return gain_to(TARGET_LUFS, meter.integrated_lufs(), meter.true_peak_dbtp(), CEILING_DBTP)
