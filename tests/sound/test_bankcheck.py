"""How true a bank is said to be, against banks that are off by a known amount."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pretty_midi
import pytest
from sinebank import write_sine_bank

from playalong.performance.clock import SAMPLE_RATE_HZ
from playalong.shipped import own_bank
from playalong.sound import bankload
from playalong.sound.bankcheck import BankTruth, KeyTruth, measure_bank
from playalong.sound.bankload import check_bank
from playalong.sound.fluid import BankError
from playalong.sound.voices import deviation_cents

COMMON_BANK = Path(pretty_midi.__file__).with_name("TimGM6mb.sf2")
VIOLIN, FLUTE = 40, 73


def test_a_straight_sine_is_true(tmp_path: Path) -> None:
    truth = measure_bank(write_sine_bank(tmp_path / "sine.sf2"), 0)
    assert abs(truth.worst_offset.offset_cents) < 0.05
    assert truth.worst_waver.waver_cents < 0.1
    assert truth.verdict.startswith("This bank is true: its notes stand up to 0.")


@pytest.mark.parametrize("cents", [-40, -3, 9])
def test_a_bank_that_is_off_is_measured_to_a_twentieth_of_a_cent(
    tmp_path: Path, cents: int
) -> None:
    truth = measure_bank(write_sine_bank(tmp_path / "off.sf2", pitch_correction=cents), 0)
    assert truth.worst_offset.offset_cents == pytest.approx(cents, abs=0.05)


@pytest.mark.parametrize("root_key", [57, 67, 81])
def test_a_bank_in_another_octave_or_key_does_not_sound_what_is_written(
    tmp_path: Path, root_key: int
) -> None:
    truth = measure_bank(write_sine_bank(tmp_path / "moved.sf2", root_key=root_key), 0)
    assert math.isinf(truth.worst_offset.offset_cents)
    start = "Do not tune to this bank: its guide does not sound the written pitch"
    assert truth.verdict.startswith(start)


def test_vibrato_is_measured_by_its_width() -> None:
    seconds = np.arange(SAMPLE_RATE_HZ) / SAMPLE_RATE_HZ
    cents = 10 * np.sin(2 * np.pi * 5.5 * seconds)
    sound = np.sin(2 * np.pi * np.cumsum(440 * 2 ** (cents / 1200)) / SAMPLE_RATE_HZ)
    measured = deviation_cents(sound.astype(np.float32), 440.0)
    assert measured is not None
    low, high = np.percentile(measured, (5, 95))
    true_low, true_high = np.percentile(cents, (5, 95))
    assert high - low == pytest.approx(true_high - true_low, abs=1.5)


def test_silence_has_no_pitch() -> None:
    assert deviation_cents(np.zeros(SAMPLE_RATE_HZ, np.float32), 440.0) is None


@pytest.mark.parametrize("program", [20, 40, 41, 42, 43, 79])
def test_every_voice_of_the_bank_that_ships_is_true(program: int) -> None:
    truth = measure_bank(own_bank(), program)
    assert truth.verdict.startswith("This bank is true"), truth


def test_a_common_bank_is_not_called_true() -> None:
    for program in (VIOLIN, FLUTE):
        assert measure_bank(COMMON_BANK, program).verdict.startswith("Do not tune to this bank")


def test_a_bank_that_takes_too_long_to_measure_is_given_up(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    bank = write_sine_bank(tmp_path / "slow.sf2")
    check_bank(bank)
    monkeypatch.setattr(bankload, "LIMIT_SECONDS", 0.01)
    with pytest.raises(BankError, match=r"busy for more than 0\.01 seconds; use another\.$"):
        measure_bank(bank, VIOLIN)


@pytest.mark.parametrize(
    ("offset", "waver", "sentence"),
    [
        (0.04, 0.5, "This bank is true: its notes stand up to 0.1 cents off pitch "
                    "and waver over up to 0.5 cents."),
        (-3.0, 2.0, "This bank is true: its notes stand up to 3.0 cents off pitch (guide), "
                    "set right where they hold still, and waver over up to 2.0 cents."),
        (1.0, 6.0, "This bank is fair: its notes stand up to 1.0 cents off pitch and waver over "
                   "up to 6.0 cents (guide), which cannot be set right and a fine ear can hear."),
        (1.0, 16.0, "Do not tune to this bank: its notes stand up to 1.0 cents off pitch and "
                    "waver over up to 16.0 cents (guide), which cannot be set right."),
        (math.inf, math.inf, "Do not tune to this bank: its guide does not sound the written pitch "
                             "at MIDI key 60."),
    ],
)  # fmt: skip
def test_the_verdict_is_one_sentence(offset: float, waver: float, sentence: str) -> None:
    assert BankTruth((KeyTruth(60, offset, waver),)).verdict == sentence


@pytest.mark.parametrize(
    ("offset", "waver", "word"),
    [
        (1.0, 2.0, "true"),  # a waver stands half of its width off either way
        (-1.0, 0.0, "true"),
        (-40.0, 0.0, "true"),  # what stands still is set right
        (0.0, 2.01, "fair"),
        (5.0, 10.0, "fair"),
        (0.0, 10.01, "not"),
    ],
)
def test_a_bank_is_true_to_one_cent_and_fair_to_five(
    offset: float, waver: float, word: str
) -> None:
    begins = {
        "true": "This bank is true:",
        "fair": "This bank is fair:",
        "not": "Do not tune to this bank:",
    }
    verdict = BankTruth((KeyTruth(60, offset, waver),)).verdict
    assert verdict.startswith(begins[word])


def test_the_worst_of_all_keys_is_told() -> None:
    truth = BankTruth((KeyTruth(48, 0.2, 1.0), KeyTruth(60, -0.8, 0.4), KeyTruth(72, 0.5, 1.5)))
    assert (truth.worst_offset.key, truth.worst_waver.key) == (60, 72)
    assert "up to 0.8 cents off pitch and waver over up to 1.5 cents" in truth.verdict
    mute = KeyTruth(84, math.inf, math.inf)
    assert BankTruth((KeyTruth(48, 0.2, 1.0), mute, mute)).verdict.endswith("at MIDI key 84, 84.")


@pytest.mark.parametrize(
    ("program", "low", "high"),
    [(40, 55, 83), (41, 48, 76), (42, 36, 71), (43, 28, 56), (73, 48, 83)],
)
def test_a_voice_is_measured_every_fifth_through_its_range(
    program: int, low: int, high: int
) -> None:
    """From its lowest string up, as far as sevens of semitones go; a wind from C3."""
    keys = measure_bank(own_bank(), program).keys
    for voice in ("guide", "ghost"):
        assert [each.key for each in keys if each.voice == voice] == list(range(low, high + 1, 7))
    assert [each.key for each in keys if each.voice == "drone"] == [low, low + 7, low + 14]
    assert [each.key for each in keys if each.voice == "click"] == [75, 76, 77]
