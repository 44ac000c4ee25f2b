"""Bare strings for the guide on the bank that ships; full voices for all who read the MIDI."""

from __future__ import annotations

import shutil
from pathlib import Path

import numpy as np
import pytest

import playalong
from playalong.performance.performance import Performance
from playalong.shipped import own_bank
from playalong.sound.midi import GHOST_CHANNELS, GUIDE_CHANNELS, STEMS, midi_file
from playalong.sound.strings import guide
from playalong.sound.synth import render

DRILL = """title = "T"
instrument = "{}"
note = "quarter"
bar = "C4 E4 ~G4 C4"
"""


def performance(instrument: str = "violin") -> Performance:
    return playalong.perform(playalong.write(playalong.parse(DRILL.format(instrument))), 120)


def heard(
    played: Performance, bank: Path, channels: frozenset[int] = STEMS["guide"], chunk: int = 1024
) -> np.ndarray:
    program = played.score.drill.instrument.program
    blocks = guide(midi_file(played), bank, program, channels, played.blocks, chunk)
    return np.concatenate(list(blocks))


def test_the_guide_is_as_long_as_its_track_whatever_the_chunks() -> None:
    played = performance()
    whole = heard(played, own_bank())
    assert len(whole) == 64 * played.blocks
    assert heard(played, own_bank(), chunk=100) == pytest.approx(whole, abs=1e-6)


def test_its_channels_and_the_ghost_voice_add_up() -> None:
    played = performance()
    apart = [heard(played, own_bank(), frozenset({c})) for c in (*GUIDE_CHANNELS, *GHOST_CHANNELS)]
    whole = heard(played, own_bank())
    off = (
        np.sum(apart, axis=0) - whole
    )  # FluidSynth begins a voice a little otherwise beside others
    assert np.sum(off**2) < 1e-5 * np.sum(whole**2)


def test_the_same_track_gives_the_same_samples() -> None:
    played = performance()
    assert np.array_equal(heard(played, own_bank()), heard(played, own_bank()))


def test_no_note_begins_as_the_one_before_did() -> None:
    drill = DRILL.format("violin").replace("C4 E4 ~G4 C4", "C4 r C4 r")
    played = playalong.perform(playalong.write(playalong.parse(drill)), 120)
    sound = heard(played, own_bank())
    starts = [64 * played.clock.block(tone.start) for tone in played.guide[1:3]]
    first, second = (sound[at : at + 4410] for at in starts)
    assert np.abs(first - second).max() > 0.1 * np.abs(first).max()


def test_a_strangers_bank_plays_its_own_voices(tmp_path: Path) -> None:
    """A copy of ours is one: what the MIDI names is what sounds, but for level and cents."""
    copy = Path(shutil.copy(own_bank(), tmp_path / "copy.sf2"))
    played = performance()
    plain = np.concatenate(list(render(midi_file(played), copy, STEMS["guide"], played.blocks)))
    tone = played.guide[1]
    held = slice(*(64 * played.clock.block(at) for at in (tone.start, tone.end)))
    likeness = np.corrcoef(heard(played, copy)[held], plain[held])[0, 1]
    assert likeness > 0.99
    assert np.corrcoef(heard(played, own_bank())[held], plain[held])[0, 1] < 0.9


def test_a_voice_without_a_body_is_played_as_it_is() -> None:
    played, drone = performance(), 20
    blocks = guide(midi_file(played), own_bank(), drone, STEMS["guide"], played.blocks)
    plain = render(midi_file(played), own_bank(), STEMS["guide"], played.blocks)
    assert np.array_equal(np.concatenate(list(blocks)), np.concatenate(list(plain)))


def test_the_midi_selects_no_bank_so_that_others_find_the_full_voices() -> None:
    messages = [message for track in midi_file(performance()).tracks for message in track]
    controls = {m.control for m in messages if m.type == "control_change"}
    assert not controls & {0, 32}
