"""The fullest stage of a rung stands at -18 LUFS, however much of it is rest, with its peaks below
-1 dBTP; no tall click holds it down.

-18 is the loudness of ITU-R BS.1770, whose gates leave out what is silent: for clicks alone it is
the loudness of the blocks of 400 ms that have a click in them.
"""

from __future__ import annotations

import numpy as np
import pyloudnorm
import pytest
from chain import drill_text
from measure import RATE_HZ
from scipy.signal import resample_poly

import playalong

OFF = {"drone__on": '"off"'}
CASES = {
    "fast separate eighths": ("violin", "p1: 1 2 3 1 p3: 1 2 p1: 2 1", 200, "listen", {}),
    "staccato": (
        "violin",
        "p1: 1*1/2 r*3/2 2*1/2 r*3/2 3*1/2 r*3/2 1*1/2 r*3/2",
        120,
        "listen",
        {},
    ),
    "only check": ("cello", "C3*2 ~E3*2 D3*2 ~G3*2", 160, "check", {}),
    "only alone": ("bass", "A2*2 ~C3*2 D3*2 A2*2", 60, "alone", {}),
    "only alone without a drone": ("bass", "A2*2 ~C3*2 D3*2 A2*2", 60, "alone", OFF),
    "clicks alone and slow": ("bass", "A2*2 ~C3*2 D3*2 A2*2", 40, "alone", OFF),
    "no drone": ("viola", "p1: 1 2 3 1 p3: 1 2 p1: 2 1", 60, "listen", OFF),
}


@pytest.mark.parametrize("what", CASES)
def test_the_fullest_stage_stands_at_its_loudness(what: str) -> None:
    instrument, bar, bpm, stage, settings = CASES[what]
    drill = playalong.parse(drill_text(bar, instrument, **settings))
    score = playalong.write(drill, "C major", drill.strings[0] if drill.strings else None)
    sound = playalong.render(playalong.perform(score, bpm, stage)).astype(np.float64)
    meter = pyloudnorm.Meter(RATE_HZ, filter_class="DeMan")
    assert meter.integrated_loudness(sound) == pytest.approx(-18, abs=0.5)
    assert 20 * np.log10(np.abs(resample_poly(sound, 4, 1)).max()) <= -0.99
