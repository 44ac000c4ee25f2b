"""The recipe makes the bank that ships, and refuses what would break it."""

from __future__ import annotations

import importlib
import subprocess
import sys
from pathlib import Path
from types import ModuleType

import numpy as np
import pytest
from bank_parser import BANK, FOLDER


@pytest.fixture
def recipe(monkeypatch: pytest.MonkeyPatch):
    """A module of the recipe, by name."""
    monkeypatch.syspath_prepend(str(FOLDER))
    return importlib.import_module


def test_the_recipe_rebuilds_the_bank_byte_for_byte(tmp_path: Path) -> None:
    made = tmp_path / "made.sf2"
    command = [sys.executable, str(FOLDER / "make_bank.py"), str(made)]
    subprocess.run(command, check=True, capture_output=True, cwd=tmp_path)
    assert made.read_bytes() == BANK.read_bytes()


def test_the_bank_is_under_four_megabytes() -> None:
    assert BANK.stat().st_size < 4_000_000


def test_the_dedication_stands_beside_the_bank() -> None:
    assert "CC0 1.0 Universal" in (FOLDER / "LICENSE-CC0.txt").read_text(encoding="utf-8")


def test_a_sample_on_a_rounding_edge_is_refused(recipe) -> None:
    tones: ModuleType = recipe("tones")
    with pytest.raises(ValueError, match="lies on a rounding edge: change the recipe"):
        tones.to_points(np.array([0.0, 2.5 / tones.FULL_SCALE]))


def test_a_wave_beyond_full_scale_is_refused(recipe) -> None:
    with pytest.raises(ValueError, match="louder than full scale"):
        recipe("tones").to_points(np.array([0.0, 1.01]))


def test_a_loop_that_cannot_be_true_is_refused(recipe) -> None:
    with pytest.raises(ValueError, match=r"no loop near 0\.001 s at 500 Hz is true to key 60"):
        recipe("tones").whole_periods(60, 500, 0.001)


@pytest.mark.parametrize(
    ("rate_hz", "loop_start", "loop_end", "message"),
    [
        (60_000, 8, 92, "X: 60000 Hz is no advised sample rate"),
        (44_100, 7, 92, "X: the loop starts too early or is too short"),
        (44_100, 8, 39, "X: the loop starts too early or is too short"),
        (44_100, 8, 93, "X: the loop ends too near the end of the sample"),
    ],
)
def test_a_sample_that_breaks_the_standard_is_refused(
    recipe, rate_hz: int, loop_start: int, loop_end: int, message: str
) -> None:
    with pytest.raises(ValueError, match=message):
        recipe("sf2").Sample("X", 60, rate_hz, np.zeros(100, np.int16), loop_start, loop_end)


def test_a_name_longer_than_its_record_is_refused(recipe) -> None:
    sf2: ModuleType = recipe("sf2")
    preset = sf2.Preset("A name of twenty let", 0, 0, (), (), ())
    with pytest.raises(ValueError, match='"A name of twenty let" is longer than the 19 letters'):
        sf2.bank_bytes([preset], [])


def test_k_weighting_has_the_gains_of_bs_1770(recipe) -> None:
    # ITU-R BS.1770 annex 1: the 997 Hz calibration tone reads +0.691 db; the other gains
    # computed from its 48 kHz coefficients.
    hz = np.array([25, 41.203, 65.406, 100, 196, 440, 997, 2_000, 10_000])
    db = [-10.393, -5.326, -2.494, -1.133, -0.278, 0.008, 0.6910, 3.0713, 4.0419]
    assert 20 * np.log10(recipe("tones").k_weight(hz)) == pytest.approx(db, abs=0.001)
