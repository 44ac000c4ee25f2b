"""What a real build leaves on disk: loudness, levels, stems, and twenty minutes without drift."""

from __future__ import annotations

import json
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import pyloudnorm
import pytest
import soundfile
from chain import drill_text
from measure import RATE_HZ, Floats, cut, first_sound, level_db, matched_times, sweep
from scipy.signal import resample_poly

from playalong.drill.load import parse
from playalong.making.make import make
from playalong.making.plan import Options
from playalong.shipped import own_bank

HALF_STEP_16_BIT = 0.5 / 32768
STAGES = ("listen", "answer", "check", "alone")


@dataclass(frozen=True)
class Built:
    folder: Path
    manifest: dict[str, Any]

    def sound(self, name: str) -> Floats:
        samples, rate_hz = soundfile.read(self.folder / name, dtype="float64")
        assert rate_hz == RATE_HZ
        return np.asarray(samples)

    def timeline(self, track: dict[str, Any]) -> dict[str, Any]:
        return dict(json.loads((self.folder / track["timeline"]).read_text("utf-8")))

    @property
    def tracks(self) -> list[dict[str, Any]]:
        return list(self.manifest["tracks"])


def build(folder: Path, text: str, **options: Any) -> Built:
    make(parse(text), folder, Options(own_bank(), format="flac", **options))
    return Built(folder, json.loads((folder / "manifest.json").read_text("utf-8")))


@pytest.fixture(scope="module")
def long_build(tmp_path_factory: pytest.TempPathFactory) -> Built:
    """Four stages of a minute and a half, and a session with long rests, of more than twenty."""
    text = drill_text(
        "p1: 1 2 p3: 1 3 | p3: 2 1 p1: 2 1",
        note='"quarter"',
        climb="2",
        passes="3",
        tempo__start="40",
        session__rest="5",
    )
    return build(tmp_path_factory.mktemp("long"), text, stems=True)


def lufs(sound: Floats) -> float:
    meter = pyloudnorm.Meter(RATE_HZ, filter_class="DeMan")
    return float(meter.integrated_loudness(sound))


def true_peak_db(sound: Floats) -> float:
    """Four times oversampled (ITU-R BS.1770-5, annex 2), a stretch at a time."""
    stretch, margin = 20 * RATE_HZ, 200
    peaks = [
        np.abs(resample_poly(sound[max(0, at - margin) : at + stretch + margin], 4, 1)).max()
        for at in range(0, len(sound), stretch)
    ]
    return float(20 * np.log10(max(peaks)))


def test_the_fullest_track_stands_at_18_lufs_below_full_scale(long_build: Built) -> None:
    (listen,) = [track for track in long_build.tracks if track["stage"] == "listen"]
    assert lufs(long_build.sound(listen["audio"])) == pytest.approx(-18, abs=0.5)


def test_no_track_peaks_above_one_decibel_below_full_scale(long_build: Built) -> None:
    for track in long_build.tracks:
        assert true_peak_db(long_build.sound(track["audio"])) <= -1, track["stage"]


def test_drone_and_click_keep_their_level_through_the_stages(long_build: Built) -> None:
    assert tuple(track["stage"] for track in long_build.tracks) == STAGES
    for stem in ("drone", "click"):
        levels = [level_db(long_build.sound(track["stems"][stem])) for track in long_build.tracks]
        assert min(levels) > -60
        assert max(levels) - min(levels) < 0.1, stem


def test_stems_sum_to_the_mix_within_the_rounding_to_16_bits(long_build: Built) -> None:
    for track in long_build.tracks:
        parts = [long_build.sound(name) for name in track["stems"].values()]
        off = np.sum(parts, axis=0) - long_build.sound(track["audio"])
        assert np.abs(off).max() <= (len(parts) + 1) * HALF_STEP_16_BIT * 1.0001


def test_twenty_minutes_do_not_drift(long_build: Built) -> None:
    """Every click of the session within 1 ms of its timeline time from its part's start."""
    (session,) = long_build.manifest["sessions"]
    sound = long_build.sound(session["audio"])
    assert session["seconds"] == pytest.approx(len(sound) / RATE_HZ, abs=1e-6)
    assert session["seconds"] > 20 * 60
    tracks = {track["number"]: long_build.timeline(track) for track in long_build.tracks}
    parts = session["parts"]
    assert [part["track"] for part in parts] == [1, 2, 3, 4]
    late = []
    for part in parts:
        starts = [
            part["from"] + click["at"]
            for click in tracks[part["track"]]["clicks"]
            if click["sweep"]
        ]
        heard = matched_times(sound, sweep(), starts, 0.02)
        late += list(np.array(heard) - np.array(starts))
    assert np.abs(late).max() < 0.001
    assert np.ptp(late) < 0.0001


def test_the_first_and_the_last_click_of_a_long_stem_are_in_time(long_build: Built) -> None:
    for track in long_build.tracks:
        clicks = [c["at"] for c in long_build.timeline(track)["clicks"] if not c["sweep"]]
        sound = long_build.sound(track["stems"]["click"])
        for at in (clicks[0], clicks[-1]):
            assert abs(first_sound(sound, at - 0.02, at + 0.05) - at) < 0.001


def test_a_split_build_puts_the_guide_left_and_nothing_else(tmp_path: Path) -> None:
    text = drill_text("p1: 1 2 p3: 1 3", note='"quarter"', passes="1", stages='["listen"]')
    built = build(tmp_path, text, split=True, stems=True, sessions=False)
    (track,) = built.tracks
    left, right = built.sound(track["audio"]).T
    guide, drone, click = (
        built.sound(track["stems"][name]) for name in ("guide", "drone", "click")
    )
    assert np.array_equal(left, guide)
    assert np.abs(right - drone - click).max() <= 3 * HALF_STEP_16_BIT * 1.0001
    assert level_db(cut(guide, 0, 3)) < -90
    assert level_db(cut(right, 0, 3)) > -60
