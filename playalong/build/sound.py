"""The sound of a rung: stems from the exported MIDI, and one gain for all its stages.

The gain brings the fullest stage to the target loudness, so that drone and click stand at the
same level in every stage.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path

import mido
import numpy as np
from numpy.typing import NDArray

from playalong.track.loudness import LoudnessMeter, gain_to
from playalong.track.midi import STEMS, midi_file
from playalong.track.mix import Blocks, mix, split
from playalong.track.performance import Performance
from playalong.track.synth import render

TARGET_LUFS = -18.0
CEILING_DBTP = -1.0
CHUNK_BLOCKS = 1024  # 65,536 frames


class TrackSound:
    """One performance as MIDI and as the stems rendered from that MIDI."""

    def __init__(self, performance: Performance, bank: Path) -> None:
        self.midi: mido.MidiFile = midi_file(performance)
        self.bank = bank
        self.blocks = performance.blocks

    def stem(self, name: str) -> Iterator[NDArray[np.float32]]:
        """The guide (with its ghost notes), the drone or the click, at gain 1."""
        return render(self.midi, self.bank, STEMS[name], self.blocks, chunk_blocks=CHUNK_BLOCKS)

    def mixed(self, gain: float, *, in_two_ears: bool = False) -> Iterator[NDArray[np.float32]]:
        """All stems together: mono, or the guide left and the others right."""
        guide, *others = (self.stem(name) for name in STEMS)
        if in_two_ears:
            return split(guide, others, gain)
        return mix([guide, *others], gain)


def fullest(performances: Sequence[Performance]) -> Performance:
    """The performance with the most sound in it: most guide, then drone, then click."""
    return max(
        performances,
        key=lambda performance: (
            performance.stage.fullness,
            performance.stage.drone,
            performance.stage.click,
        ),
    )


def gain_for(sound: Blocks) -> float:
    """The linear gain that brings a sound to the target loudness within the peak ceiling."""
    meter = LoudnessMeter()
    for block in sound:
        meter.add(block)
    return gain_to(TARGET_LUFS, meter.integrated_lufs(), meter.true_peak_dbtp(), CEILING_DBTP)
