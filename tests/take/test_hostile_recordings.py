"""Recordings of which nothing true can be told: a sentence, never a false report."""

from __future__ import annotations

import shutil
from types import SimpleNamespace

import numpy as np
import pytest
import soundfile
from recorded import RATE_HZ
from scipy.signal import butter, resample_poly, sosfilt
from takes import off_cents

from playalong.take.doubt import TakeError, checked, survey
from playalong.take.listen import listen_to
from playalong.take.recording import InFile, InMemory, RecordingError, opened

RNG = np.random.default_rng(5)


def noise(seconds: float) -> np.ndarray:
    return RNG.standard_normal(int(seconds * RATE_HZ)).astype(np.float32) * 0.05


def speech(seconds: float) -> np.ndarray:
    """Like speech: a gliding buzz through three formants, with pauses."""
    t = np.arange(int(seconds * RATE_HZ)) / RATE_HZ
    hz = 120 + 40 * np.sin(2 * np.pi * 0.7 * t) + 25 * np.sin(2 * np.pi * 2.3 * t)
    buzz = np.sign(np.sin(2 * np.pi * np.cumsum(hz) / RATE_HZ))
    voiced = sum(
        sosfilt(butter(2, [low, high], "band", fs=RATE_HZ, output="sos"), buzz)
        for low, high in ((300, 800), (900, 1800), (2200, 3000))
    )
    return (0.1 * voiced * (np.sin(2 * np.pi * 1.7 * t) > -0.3)).astype(np.float32)


def test_silence_is_told():
    with pytest.raises(TakeError, match="silent; look which microphone"):
        survey(InMemory(np.zeros(10 * RATE_HZ, np.float32), RATE_HZ), "a.wav")


def test_two_seconds_are_told():
    with pytest.raises(TakeError, match=r"lasts 2\.0 seconds, which is too short"):
        survey(InMemory(noise(2), RATE_HZ), "a.wav")


@pytest.mark.parametrize("sound", [noise(25), speech(25)], ids=["noise", "speech"])
def test_noise_and_speech_are_no_take(track, sound):
    timeline, own = track
    with pytest.raises(TakeError, match="neither the track's count-in nor its notes are found"):
        checked(listen_to(sound, own, timeline), "a.wav")


def test_another_drill_in_other_keys_is_told(playing, track):
    """What was played lies two half steps higher: every note is another one."""
    take, _ = playing(seed=1)
    timeline, own = track
    higher = resample_poly(take.sound, 89, 100).astype(np.float32)
    with pytest.raises(TakeError, match=r"does not sound like this track|neither the track"):
        checked(listen_to(higher, own, timeline), "a.wav")


@pytest.mark.parametrize("rate_hz", [8_000, 16_000, 48_000, 96_000])
def test_other_sample_rates_are_heard_as_well(playing, track, rate_hz):
    take, _ = playing(seed=1)
    common = int(np.gcd(rate_hz, RATE_HZ))
    sound = resample_poly(take.sound, rate_hz // common, RATE_HZ // common).astype(np.float32)
    timeline, own = track
    heard = listen_to(InMemory(sound, rate_hz), own, timeline)
    off = off_cents(take, heard)
    assert len(off) == len(take.notes)
    assert max(off) < 4


def test_a_clipped_recording_is_judged_and_told(playing, track):
    take, _ = playing(seed=1)
    clipped = np.clip(take.sound * 6, -1, 1).astype(np.float32)
    timeline, own = track
    (remark,) = survey(InMemory(clipped, RATE_HZ), "a.wav").remarks
    assert remark.startswith("The recording is clipped")
    assert max(off_cents(take, listen_to(clipped, own, timeline))) < 4


def test_a_recording_that_is_none_is_told_without_a_traceback(tmp_path, monkeypatch):
    monkeypatch.setattr(shutil, "which", lambda name: None)
    path = tmp_path / "a.m4a"
    path.write_bytes(b"\0\0\0 ftypM4A ")
    with pytest.raises(RecordingError, match="put ffmpeg on this computer, or save it as WAV"):
        opened(path).__enter__()


def test_ffmpeg_is_asked_by_a_list_of_words(tmp_path, monkeypatch):
    asked = []
    monkeypatch.setattr(shutil, "which", lambda name: "/usr/bin/ffmpeg")
    monkeypatch.setattr(
        "subprocess.run", lambda words, **_: asked.append(words) or SimpleNamespace(returncode=1)
    )
    path = tmp_path / "-y; rm.webm"
    path.write_bytes(b"nothing")
    with pytest.raises(RecordingError, match="neither we nor ffmpeg can read it"):
        opened(path).__enter__()
    assert f"file:{path}" in asked[0]


@pytest.mark.parametrize("keep", [0, 10, 44, 3000])
def test_a_broken_file_is_told(tmp_path, monkeypatch, keep):
    monkeypatch.setattr(shutil, "which", lambda name: None)
    path = tmp_path / "a.flac"
    soundfile.write(path, noise(5), RATE_HZ)
    path.write_bytes(path.read_bytes()[:keep])
    with pytest.raises((RecordingError, TakeError), match=r"no sound file|breaks off|no sound"):  # noqa: SIM117
        with opened(path) as recording:
            survey(recording, str(path))


def test_a_rate_that_no_microphone_has_is_told(tmp_path):
    path = tmp_path / "a.wav"
    soundfile.write(path, noise(1), 2000)
    with pytest.raises(RecordingError, match="holds 2000 samples a second; record at 44100"):
        opened(path).__enter__()


def test_what_lies_outside_a_recording_is_nought(tmp_path):
    path = tmp_path / "a.wav"
    soundfile.write(path, np.full(100, 0.5, np.float32), RATE_HZ, subtype="FLOAT")
    with opened(path) as recording:
        assert isinstance(recording, InFile)
        read = recording.read(-5, 105)
    assert list(read) == [0] * 5 + [0.5] * 100 + [0] * 5
