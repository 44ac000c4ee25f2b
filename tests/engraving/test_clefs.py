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


@pytest.mark.parametrize(
    ("instrument", "string", "low", "high", "clef"),
    [
        # alto clef: its top line is G4, four ledger lines B4 D5 F5 A5, and B5 stands on them
        ("viola", "A", "B4", "B5", ("C", "3")),
        ("viola", "A", "B4", "C6", ("G", "2")),
        # bass clef: A3, then C4 E4 G4 B4, and C5; tenor clef: E4, then G4 B4 D5 F5, and G5
        ("cello", "A", "B3", "C5", ("F", "4")),
        ("cello", "A", "B3", "D5", ("C", "4")),
        ("cello", "A", "B3", "G5", ("C", "4")),
        ("cello", "A", "B3", "A5", ("G", "2")),
        # tenor clef: its lowest line is D3, three ledger lines B2 G2 E2, and D2 hangs from them
        ("cello", None, "D2", "D5", ("C", "4")),
        ("cello", None, "C2", "D5", ("F", "4")),
        # treble clef: E4, then C4 A3 F3, and E3
        ("cello", None, "E3", "A5", ("G", "2")),
        ("cello", None, "D3", "A5", ("C", "4")),
    ],
)
def test_a_higher_clef_saves_a_fifth_ledger_line_if_three_are_enough_below(
    instrument, string, low, high, clef
):
    more = f'strings = ["{string}"]' if string else ""
    root = music(f"{low}*4 {high}*4", f'keys = ["C major"]\n{more}', instrument=instrument)
    assert (root.findtext(".//clef/sign"), root.findtext(".//clef/line")) == clef
