"""A stranger's bank at the balance and the pitch of our own.

Banks that are off by a known amount, and TimGM6mb.sf2 as pretty_midi brings it along: loudness by
pyloudnorm (ITU-R BS.1770), pitch by Praat.
"""

from __future__ import annotations

import math
import os
from pathlib import Path

import mido
import numpy as np
import parselmouth
import pretty_midi
import pyloudnorm
import pytest
from sinebank import write_sine_bank

import playalong
from playalong.drill.load import parse
from playalong.performance.performance import Performance
from playalong.shipped import own_bank
from playalong.sound.balance import balanced, ours_lufs, steady_cents
from playalong.sound.bankcheck import measure_bank
from playalong.sound.midi import CLICK_KEYS, DRONE_PROGRAM, GHOST_PROGRAM, STEMS, SWEEP_KEY
from playalong.sound.stems import TrackSound
from playalong.sound.synth import render
from playalong.sound.voices import Heard, Note, deviation_cents, listen

RATE_HZ = 44_100
COMMON_BANK = Path(pretty_midi.__file__).with_name("TimGM6mb.sf2")
TOLERANCE_LU = 0.5
LOW_NOTES = {"violin": "D4", "viola": "G3", "cello": "G2", "bass": "B2"}


def held(instrument: str) -> Performance:
    """One note of four seconds, drone and click beside it."""
    text = (
        f'title = "Held"\ninstrument = "{instrument}"\nnote = "quarter"\npasses = 1\n'
        f'bar = "{LOW_NOTES[instrument]}*4"\n'
    )
    return playalong.perform(playalong.write(parse(text), "C major"), 60, "listen")


def stem(performance: Performance, name: str, bank: Path) -> np.ndarray:
    """What is heard of a stem while the whole note is held."""
    sound = np.concatenate(list(TrackSound(performance, bank).stem(name))).astype(np.float64)
    begin = performance.clock.seconds(performance.music_start)
    return sound[round((begin + 0.3) * RATE_HZ) : round((begin + 3.8) * RATE_HZ)]


def lufs(sound: np.ndarray) -> float:
    return float(pyloudnorm.Meter(RATE_HZ, filter_class="DeMan").integrated_loudness(sound))


def praat_cents(sound: np.ndarray, hz: float) -> float:
    pitch = parselmouth.Sound(sound, RATE_HZ).to_pitch_ac(
        time_step=0.005, pitch_floor=hz / 2, pitch_ceiling=2 * hz, very_accurate=True
    )
    heard = pitch.selected_array["frequency"]
    return float(1200 * np.log2(np.median(heard[heard > 0]) / hz))


@pytest.mark.parametrize("instrument", LOW_NOTES)
def test_drone_and_click_of_a_common_bank_stand_to_its_guide_as_ours_do(instrument: str) -> None:
    """Its drone was 6 to 8 LU nearer to the guide, its click 3 to 4."""
    performance = held(instrument)
    ours = {name: lufs(stem(performance, name, own_bank())) for name in STEMS}
    theirs = {name: lufs(stem(performance, name, COMMON_BANK)) for name in STEMS}
    for name in ("drone", "click"):
        assert theirs[name] - theirs["guide"] == pytest.approx(
            ours[name] - ours["guide"], abs=TOLERANCE_LU
        )


@pytest.mark.parametrize("instrument", LOW_NOTES)
def test_the_guide_of_a_common_bank_stands_within_a_cent(instrument: str) -> None:
    """Over four seconds; it stood 2 to 4 cents high."""
    performance = held(instrument)
    guide = stem(performance, "guide", COMMON_BANK)
    assert abs(praat_cents(guide, performance.guide[1].hz)) < 1


@pytest.mark.parametrize("cents", [-40, 9])
def test_a_bank_that_is_off_sounds_at_its_pitch(tmp_path: Path, cents: int) -> None:
    bank = write_sine_bank(tmp_path / "off.sf2", pitch_correction=cents)
    for name in ("guide", "drone"):
        performance = held("viola")
        hz = performance.guide[1].hz if name == "guide" else performance.drone.hz[0]
        found = deviation_cents(stem(performance, name, bank).astype(np.float32), hz)
        assert found is not None
        assert abs(np.mean(found)) < 0.1


def one_note(key: int, velocity: int = 96, bend: int = 0, program: int = 0) -> mido.MidiFile:
    """Two seconds at 120, bent halfway."""
    track = mido.MidiTrack([
        mido.Message("program_change", program=program),
        mido.Message("note_on", note=key, velocity=velocity),
        mido.Message("pitchwheel", pitch=bend, time=960),
        mido.Message("note_off", note=key, time=960),
    ])  # fmt: skip
    return mido.MidiFile(ticks_per_beat=480, tracks=[track])


def test_what_is_off_stays_set_right_while_a_note_is_bent(tmp_path: Path) -> None:
    bank = write_sine_bank(tmp_path / "off.sf2", pitch_correction=-30)
    chunks = balanced(one_note(69, bend=4096), bank, frozenset({0}), 1378)
    sound = np.concatenate(list(chunks))
    bent_hz = 440 * 2 ** (1 / 12)  # half of two semitones
    for start, end, hz in ((0.3, 0.9, 440.0), (1.3, 1.9, bent_hz)):
        found = deviation_cents(sound[round(start * RATE_HZ) : round(end * RATE_HZ)], hz)
        assert found is not None
        assert abs(np.mean(found)) < 0.1


@pytest.mark.parametrize("velocity", [30, 62, 96, 127])
def test_every_velocity_is_as_loud_as_ours(tmp_path: Path, velocity: int) -> None:
    bank = write_sine_bank(tmp_path / "loud.sf2", zones=2)
    sound = np.concatenate(list(balanced(one_note(69, velocity), bank, frozenset({0}), 1378)))
    expected = ours_lufs(Note(69, velocity))
    assert lufs(sound[RATE_HZ // 2 : 2 * RATE_HZ].astype(np.float64)) == pytest.approx(
        expected, abs=0.1
    )


def test_the_table_says_how_loud_our_own_bank_is() -> None:
    voices = [
        *(Note(key, 54, GHOST_PROGRAM) for key in (40, 62, 88)),
        *(Note(key, 96, DRONE_PROGRAM) for key in (28, 48, 64)),
        Note(CLICK_KEYS[True], 100, on_drums=True),
        Note(CLICK_KEYS[False], 92, on_drums=True),
        Note(SWEEP_KEY, 92, on_drums=True),
    ]
    for note, heard in zip(voices, listen(own_bank(), voices), strict=True):
        assert heard.lufs == pytest.approx(ours_lufs(note), abs=0.3), note
    for instrument in LOW_NOTES:
        performance = held(instrument)
        guide = lufs(stem(performance, "guide", own_bank()))
        program = performance.score.drill.instrument.program
        assert guide == pytest.approx(ours_lufs(Note(60, 96, program)), abs=0.2)


def test_our_own_bank_is_played_as_it_is() -> None:
    midi = TrackSound(held("viola"), own_bank()).midi
    for channels in STEMS.values():
        ours = np.concatenate(list(balanced(midi, own_bank(), channels, 1000)))
        plain = np.concatenate(list(render(midi, own_bank(), channels, 1000)))
        assert ours.tobytes() == plain.tobytes()


@pytest.mark.parametrize(
    ("heard", "cents"),
    [
        (Heard(-20.0, 4.2, 3.0), 4.2),
        (Heard(-20.0, -12.0, 20.0), -12.0),
        (Heard(-20.0, 21.9, 84.2), 0.0),  # two players at once: a second does not tell the middle
        (Heard(-20.0), 0.0),
        (Heard(-math.inf), 0.0),
    ],
)
def test_only_what_holds_still_is_moved(heard: Heard, cents: float) -> None:
    assert steady_cents(heard) == cents


def test_a_voice_that_a_bank_lacks_is_silence_and_is_told(tmp_path: Path) -> None:
    bank = write_sine_bank(tmp_path / "one.sf2", only_key=69)
    sound = np.concatenate(list(balanced(one_note(60), bank, frozenset({0}), 1378)))
    assert not sound.any()
    verdict = measure_bank(bank, 41).verdict
    assert "its drone does not sound the written pitch at MIDI key 48, 55, 62" in verdict
    assert "its click is silent at MIDI key 75, 76, 77" in verdict


def test_a_bank_that_was_replaced_is_measured_again(tmp_path: Path) -> None:
    bank = write_sine_bank(tmp_path / "bank.sf2", pitch_correction=20)
    list(balanced(one_note(69), bank, frozenset({0}), 1378))
    write_sine_bank(bank, pitch_correction=-20)
    os.utime(bank, ns=(1, 1))
    sound = np.concatenate(list(balanced(one_note(69), bank, frozenset({0}), 1378)))
    found = deviation_cents(sound[RATE_HZ // 2 : RATE_HZ], 440.0)
    assert found is not None
    assert abs(np.mean(found)) < 0.1
