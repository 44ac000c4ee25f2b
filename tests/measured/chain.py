"""The whole chain, from a drill's text to sound: what the measurements of this folder hear."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from playalong.drill.load import parse
from playalong.drill.stage import STAGES, Stage
from playalong.performance.clock import SAMPLE_RATE_HZ
from playalong.performance.perform import perform
from playalong.performance.performance import Performance
from playalong.performance.timing import timeline_of
from playalong.score.writing import write
from playalong.shipped import own_bank
from playalong.sound.midi import DRONE_CHANNELS, GUIDE_CHANNELS, midi_file
from playalong.sound.strings import guide
from playalong.sound.synth import render

Floats = NDArray[np.float64]
CLICK = (9,)
GHOST = (2,)
GUIDE = (*GUIDE_CHANNELS, *GHOST)
DRONE = DRONE_CHANNELS


@dataclass(frozen=True)
class Played:
    """One performance and its sound, channel by channel as asked for."""

    performance: Performance

    @cached_property
    def timeline(self) -> dict[str, Any]:
        return timeline_of(self.performance).data()

    @cached_property
    def midi(self) -> Any:
        return midi_file(self.performance)

    def sound(self, *channels: int) -> Floats:
        blocks, bank = self.performance.blocks, own_bank()
        if set(channels) <= set(GUIDE):
            program = self.performance.score.drill.instrument.program
            chunks = guide(self.midi, bank, program, frozenset(channels), blocks)
        else:
            chunks = render(self.midi, bank, frozenset(channels), blocks)
        return np.concatenate(list(chunks)).astype(np.float64)

    def voice(self, start: float, end: float) -> Floats:
        """The one of the guide's two channels that is the louder between two times.

        The tail of the tone before is then no part of what is measured.
        """
        span = slice(round(start * SAMPLE_RATE_HZ), round(end * SAMPLE_RATE_HZ))
        return max(self.voices, key=lambda sound: float(np.sum(sound[span] ** 2)))

    @cached_property
    def voices(self) -> tuple[Floats, ...]:
        return tuple(self.sound(channel) for channel in GUIDE_CHANNELS)

    @property
    def notes(self) -> list[dict[str, Any]]:
        """What sounds as written, without the first note given in the count-in."""
        notes = self.timeline["notes"]
        return [note for note in notes if note["sounds"] and note["bar"] and note["role"] == "note"]

    @property
    def slides(self) -> list[dict[str, Any]]:
        return [slide for slide in self.timeline["slides"] if slide["sounds"]]


def drill_text(bar: str, instrument: str = "violin", **settings: str) -> str:
    """A drill file; `tuning__a4="415"` becomes a setting in its table, values are TOML."""
    lines = ['title = "Measured"', f'instrument = "{instrument}"', f'bar = "{bar}"']
    lines += [f"{name} = {value}" for name, value in settings.items() if "__" not in name]
    for name, value in settings.items():
        if "__" in name:
            lines.append(f"{name.replace('__', '.')} = {value}")
    return "\n".join(lines)


def play(
    bar: str,
    bpm: int = 60,
    stage: str | Stage = "listen",
    *,
    key: str = "C major",
    string: str | None = None,
    instrument: str = "violin",
    **settings: str,
) -> Played:
    """A drill played in one key, on one string, at one tempo, with the help of one stage."""
    chosen = STAGES[stage] if isinstance(stage, str) else stage
    drill = parse(drill_text(bar, instrument, **settings))
    string = string or (drill.strings[0] if drill.strings else None)
    score = write(drill, key, string)
    return Played(perform(score, bpm, chosen))
