"""Modes and melodic minor against music21, which reads its scales from interval patterns.

music21 10.5, `scale`: MajorScale, MinorScale, HarmonicMinorScale, MelodicMinorScale and the
church modes. Signatures of the modes against the major key on the same tonic: common practice.
"""

from __future__ import annotations

import pytest
from explained import drill_text, told
from music21 import scale

from playalong.music.key import ALL_KEYS, MODES, Key, parse_key
from playalong.music.melodic import rising_notes
from playalong.music.pitch import Pitch

UP, DOWN = scale.Direction.ASCENDING, scale.Direction.DESCENDING
SCALES = {
    "major": scale.MajorScale,
    "minor": scale.MinorScale,
    "harmonic minor": scale.HarmonicMinorScale,
    "melodic minor": scale.MelodicMinorScale,
    "ionian": scale.MajorScale,
    "dorian": scale.DorianScale,
    "phrygian": scale.PhrygianScale,
    "lydian": scale.LydianScale,
    "mixolydian": scale.MixolydianScale,
    "aeolian": scale.MinorScale,
    "locrian": scale.LocrianScale,
}


def by_music21(key: Key, direction: scale.Direction) -> list[str]:
    tonic = key.tonic_name.replace("b", "-")
    pitches = SCALES[key.mode](tonic).getPitches(f"{tonic}4", f"{tonic}5", direction=direction)
    return [str(pitch).replace("-", "b") for pitch in pitches]


def line(key: Key, indexes: list[int]) -> list[str]:
    """The notes of a key on these letters, each in the form that the line takes."""
    rising = rising_notes(key, indexes)
    notes = zip(indexes, rising, strict=True)
    return [(key.rising if up else key).pitch(index).name for index, up in notes]


@pytest.mark.parametrize("key", ALL_KEYS, ids=str)
def test_every_scale_goes_up_and_comes_down_as_music21_has_it(key: Key) -> None:
    up = [28 + key.letter + step for step in range(8)]
    assert line(key, up) == by_music21(key, UP)
    assert line(key, up[::-1]) == by_music21(key, DOWN)


SIGNS = {"lydian": 1, "ionian": 0, "mixolydian": -1, "dorian": -2, "aeolian": -3, "phrygian": -4,
         "locrian": -5}  # fmt: skip


@pytest.mark.parametrize("mode", SIGNS)
def test_a_mode_stands_so_many_signs_from_the_major_key_on_its_tonic(mode: str) -> None:
    for major in (key for key in ALL_KEYS if key.mode == "major"):
        if abs(major.signature + SIGNS[mode]) <= 7:
            key = Key(major.letter, major.alter, mode)
            assert key.signature == major.signature + SIGNS[mode]
    assert set(SIGNS) <= set(MODES)


@pytest.mark.parametrize(
    "name", ["D dorian", "E phrygian", "F lydian", "G mixolydian", "B locrian"]
)
def test_the_white_keys_have_no_signature(name: str) -> None:
    assert parse_key(name).signature == 0


def notes_of(bar: str, key: str, *settings: str, instrument: str = "violin") -> list[list[str]]:
    text = drill_text(bar, f'keys = ["{key}"]', *settings, instrument=instrument)
    return [[note["pitch"] for note in bar["notes"]] for bar in told(text)[0]["bars"]]


@pytest.mark.parametrize("key", [key.name for key in ALL_KEYS if key.mode == "melodic minor"])
def test_a_drill_in_fingers_goes_up_and_comes_down_by_music21s_melodic_minor(key: str) -> None:
    tonic = parse_key(key)
    up, down = by_music21(tonic, UP), by_music21(tonic, DOWN)
    bars = " | ".join(" ".join(f"{p[0]}{p[-1]}" for p in notes) for notes in bare(tonic))
    assert notes_of(bars, key, instrument="flute") == [up, down]


def bare(key: Key) -> list[list[str]]:
    """The letters of the scale, up and down, without accidentals."""
    up = [Pitch(28 + key.letter + step).name for step in range(8)]
    return [up, up[::-1]]
