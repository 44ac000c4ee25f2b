"""The clef that each instrument is written in."""

from __future__ import annotations

import pytest
from written_music import music


@pytest.mark.parametrize(
    ("instrument", "bar", "clef"),
    [
        ("violin", "1*8", ("G", "2", None)),
        ("viola", "1*8", ("C", "3", None)),
        ("viola", "p12: 1*8", ("G", "2", None)),
        ("cello", "E4*8", ("F", "4", None)),
        ("cello", "E5*8", ("C", "4", None)),
        ("cello", "C6*8", ("G", "2", None)),
        ("bass", "C4*8", ("F", "4", None)),
        ("tenor", "E4*8", ("G", "2", "-1")),
        ("guitar", "E4*8", ("G", "2", "-1")),
    ],
)
def test_each_instrument_has_its_clef_and_a_higher_one_where_ledger_lines_would_pile_up(
    instrument, bar, clef
):
    top = {"violin": "E", "viola": "A", "cello": "A", "bass": "G"}.get(instrument)
    root = music(bar, f'strings = ["{top}"]' if top else "", instrument=instrument)
    found = root.find(".//clef")
    assert tuple(map(found.findtext, ("sign", "line", "clef-octave-change"))) == clef
    assert (root.find(".//transpose") is not None) == (instrument == "bass")


def test_a_low_note_keeps_the_lower_clef_however_high_the_others_are():
    """C2 would hang nine ledger lines under a treble staff, five under the tenor clef's."""
    root = music("C2*4 C6*4", instrument="cello")
    assert (root.findtext(".//clef/sign"), root.findtext(".//clef/line")) == ("F", "4")
