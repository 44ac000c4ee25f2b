"""The exported MIDI on a General MIDI bank that the project did not make.

TimGM6mb.sf2, as pretty_midi brings it along. Its violin speaks slower than ours, so onsets are
told by the first audible frame after a rest.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pretty_midi
import pytest
from chain import CLICK, GUIDE, play
from measure import RATE_HZ, Floats, cut, first_sound

from playalong.sound.synth import render

FOREIGN = Path(pretty_midi.__file__).with_name("TimGM6mb.sf2")
AUDIBLE = 0.001  # -60 db


def first_audible(sound: Floats, at: float) -> float:
    """Seconds from `at` to the first frame that is heard; silence must stand before it."""
    heard = np.abs(cut(sound, at - 0.05, at + 0.3)) > AUDIBLE
    first = int(np.argmax(heard))
    assert first > 0
    return round((at - 0.05) * RATE_HZ) / RATE_HZ + first / RATE_HZ - at


@pytest.mark.parametrize("bpm", [47, 80])
def test_the_same_midi_sounds_at_the_same_times(bpm: int) -> None:
    played = play("p1: 1 r 3 r | p3: 1 r 3 r", bpm, string="D", note='"quarter"', passes="2")

    def foreign(channels: tuple[int, ...]) -> Floats:
        blocks = played.performance.blocks
        chunks = list(render(played.midi, FOREIGN, frozenset(channels), blocks))
        return np.concatenate(chunks).astype(np.float64)

    theirs, ours = foreign(GUIDE), played.sound(*GUIDE)
    spreads: dict[str, list[float]] = {}
    for note in played.notes:
        late = first_audible(theirs, note["from"])
        assert abs(late - first_audible(ours, note["from"])) < 0.005, note
        spreads.setdefault(note["pitch"], []).append(late)
    assert len(spreads) == 3
    for lates in spreads.values():  # a pitch takes as long to speak each time
        assert np.ptp(lates) < 0.001
    theirs = foreign(CLICK)
    for click in played.timeline["clicks"]:
        if not click["sweep"]:
            heard = first_sound(theirs, click["at"] - 0.02, click["at"] + 0.05)
            assert abs(heard - click["at"]) < 0.001
