"""The demo drills of the cellists and the bass player, as `explain` tells them: notes, fingers."""

from __future__ import annotations

import json

import pytest
from explained import told

from playalong.shipped import demo_folder

# File, key, sounding pitches, fingers (-1 the thumb), kinds of shift.
DEMOS = """
08-cello-two-or-three | C major | B3 C4 D4 C4 E4 F4 G4 B3 | 1 2 4 2 1 2 4 1 | exchange, old finger leads
08-cello-two-or-three | E major | B3 C#4 D#4 C#4 E4 F#4 G#4 B3 | 1 2 4 2 1 2 4 1 | exchange, old finger leads
11-cello-fixed-places | C major | F3 Ab3 F#3 A3 G3 Bb3 Ab3 F3 | 1 4 1 4 1 4 4 1 | contrary, contrary, same finger
12-cello-back-and-forward | C major | B3 Bb3 B3 C4 D4 D#4 D4 B3 | 1 1 1 2 4 4 4 1 | half-step slide, half-step slide, half-step slide, half-step slide
13-cello-above-the-neck | D major | E4 F#4 G4 G4 A4 A4 | 1 1 2 1 2 1 | same finger, substitution, substitution
14-cello-thumb | D major | D4 E4 F#4 G4 A4 B4 C#5 A4 | -1 1 2 3 -1 1 2 -1 |
15-bass-two-or-four | C major | E2 F2 G2 A2 A2 G2 F2 E2 | 1 2 1 4 4 1 2 1 | exchange, exchange
15-bass-two-or-four | D major | E2 F#2 G2 A2 A2 G2 F#2 E2 | 1 4 1 4 4 1 4 1 | exchange, exchange
16-bass-one-octave | D major | D2 E2 F#2 G2 A2 B2 C#3 D3 | 0 1 4 0 1 4 2 4 | exchange
17-bass-up-the-g-string | G minor | A2 Bb2 C3 D3 Eb3 F3 G3 | 1 1 1 1 1 1 1 | same finger, same finger, same finger, same finger, same finger, same finger
18-bass-thumb-and-harmonic | G major | G3 G3 A3 B3 C4 B3 A3 G3 | -1 -1 1 2 3 2 1 -1 |
"""  # noqa: E501


@pytest.mark.parametrize("row", DEMOS.strip().splitlines())
def test_each_demo_sounds_and_shifts_as_its_story_says(row: str) -> None:
    name, key, pitches, fingers, kinds = (cell.strip() for cell in row.split("|"))
    text = (demo_folder() / f"{name}.toml").read_text("utf-8")
    (data,) = (each for each in told(text) if each["key"] == key)
    notes = [note for bar in data["bars"] for note in bar["notes"]]
    assert [note["sounds"] for note in notes] == pitches.split()
    assert [note["finger"] for note in notes] == json.loads(f"[{','.join(fingers.split())}]")
    shifts = [shift["kind"] for bar in data["bars"] for shift in bar["shifts"]]
    assert shifts == [kind for kind in kinds.split(", ") if kind]
