"""playalong take, as a person runs it."""

from __future__ import annotations

import json
from pathlib import Path
from subprocess import CompletedProcess

import numpy as np
import program
import pytest
import soundfile
from played import Condition, take_of
from recorded import RATE_HZ, bank_notes
from test_json_shapes import documented, fields, holds_others

import playalong
from playalong.take.find import Track, tracks_of
from playalong.take.progress import FILE_NAME

DRILL = """title = "T"
instrument = "violin"
strings = ["D"]
keys = ["D major"]
bar = "p1: 1 2 p3: 1 2"
note = "quarter"
climb = 2
[tempo]
start = 72
goal = 76
"""


def run(*words: object) -> CompletedProcess[str]:
    return program.run("take", *words)


@pytest.fixture(scope="module")
def made(tmp_path_factory) -> tuple[Path, dict[str, Track]]:
    """A folder of two tempi and two stages, and takes of it."""
    folder = tmp_path_factory.mktemp("takes")
    out = folder / "out"
    options = playalong.Options(format="flac", sheet=False, sessions=False)
    variation = playalong.Variation(stages=("listen", "alone"))
    (folder / "drill.toml").write_text(DRILL, encoding="utf-8")
    playalong.make(playalong.load(folder / "drill.toml", variation), out, options)
    tracks = {track.name.rsplit("/")[-1]: track for track in tracks_of(out)}
    notes, sounds = bank_notes(), {}
    for number, (name, track) in enumerate(tracks.items()):
        take = take_of(
            track.timeline, track.read_sound(), notes, Condition("", leak_db=-25), number
        )
        sounds[name] = take.sound
        soundfile.write(folder / f"anna-{name}.wav", take.sound, RATE_HZ)
    first, *_, last = sounds.values()
    soundfile.write(folder / "evening.wav", np.concatenate([first, last]), RATE_HZ)
    soundfile.write(folder / "unnamed.wav", last, RATE_HZ)
    soundfile.write(folder / "late.wav", first[round(4.0 * RATE_HZ) :], RATE_HZ)
    return folder, tracks


def test_a_take_of_a_named_track_is_told_in_lines(made):
    folder, tracks = made
    track = tracks["01-072-listen"]
    done = run(folder / "anna-01-072-listen.wav", track.audio, "--keep", "no")
    assert done.returncode == 0, done.stderr
    notes = sum(not note.is_given for note in track.timeline.notes)
    assert f"{notes} of {notes} notes heard and judged." in done.stdout
    assert "Laid against the track by its sweeps." in done.stdout
    assert "Judged against equal temperament, A = 440, as the track sounds." in done.stdout
    assert "Typical distance" in done.stdout
    assert "not heard" not in done.stdout
    assert "ask a doctor or therapist" in done.stdout


def test_the_folder_is_enough_and_the_track_that_was_found_is_told(made):
    folder, _ = made
    done = run(folder / "unnamed.wav", folder / "out", "--json", "--keep", "no")
    assert done.returncode == 0, done.stderr
    assert "unnamed.wav: found D-major/D/04-076-alone" in done.stderr
    told = json.loads(done.stdout)
    assert told["track"] == "D-major/D/04-076-alone"


def test_a_recording_of_an_evening_is_cut_into_its_tracks(made):
    folder, _ = made
    done = run(folder / "evening.wav", folder / "out", "--json", "--keep", "no")
    found = [take["track"] for take in json.loads(done.stdout)]
    assert found == ["D-major/D/01-072-listen", "D-major/D/04-076-alone"]


def test_a_recording_begun_after_the_count_in_finds_its_track_by_what_closes_it(made):
    folder, _ = made
    done = run(folder / "late.wav", folder / "out", "--json", "--keep", "no")
    take = json.loads(done.stdout)
    assert take["track"] == "D-major/D/01-072-listen"


def test_json_holds_notes_shifts_and_the_place(made):
    folder, tracks = made
    track = tracks["01-072-listen"]
    done = run(folder / "anna-01-072-listen.wav", track.out / track.entry.timeline, "--json")
    told = json.loads(done.stdout)
    listed = json.loads((track.out / track.entry.timeline).read_text(encoding="utf-8"))["notes"]
    for note in told["notes"]:
        assert listed[note["index"]]["role"] == "note"
        assert note.keys() >= {
            "index", "heard", "judged", "cents", "spread_cents", "onset_ms", "vibrato_cents",
        }  # fmt: skip
    assert told["shifts"][0].keys() >= {"into", "arrival_ms", "overshoot_cents"}
    assert told["align"]["offset_seconds"] == pytest.approx(1.7, abs=0.001)
    assert told["align"]["ppm"] == pytest.approx(0, abs=0.5)


def test_what_json_prints_is_what_is_documented(made):
    folder, tracks = made
    name = "01-072-listen"
    done = run(folder / f"anna-{name}.wav", tracks[name].audio, "--json", "--keep", "no")
    known, told = documented("take"), json.loads(done.stdout)
    shown = set(fields(told, known))
    assert known <= shown
    assert not {name for name in shown - known if not holds_others(name, known)}


def test_figures_are_kept_beside_the_track_once_for_each_recording(made):
    folder, tracks = made
    track = tracks["02-072-alone"]
    run(folder / "anna-02-072-alone.wav", track.audio)
    again = run(folder / "anna-02-072-alone.wav", folder / "out", "--quiet")
    assert (again.returncode, again.stdout, again.stderr) == (0, "", "")
    kept = (track.audio.parent / FILE_NAME).read_text(encoding="utf-8").splitlines()
    kept = [each for each in map(json.loads, kept) if each["track"] == track.name]
    assert len(kept) == 1
    assert kept[0]["judged"] == kept[0]["within_5"] + kept[0]["within_15"] + kept[0]["beyond"]


def test_a_track_is_told_as_found_only_where_the_take_is_one_of_it(made):
    folder, _ = made
    rng = np.random.default_rng(1)
    soundfile.write(folder / "noise.wav", rng.standard_normal(12 * RATE_HZ) * 0.05, RATE_HZ)
    done = run(folder / "noise.wav", folder / "out", "--json", "--keep", "no")
    assert done.returncode == 2
    assert "found D-major" not in done.stderr
    assert "neither the track's count-in nor its notes are found in it" in done.stderr


def test_several_recordings_are_told_pupil_by_pupil(made):
    folder, _ = made
    names = [folder / f"anna-{name}.wav" for name in ("01-072-listen", "03-076-listen")]
    broken = folder / "ben.wav"
    broken.write_bytes(b"nothing")
    done = run(*names, broken, folder / "out", "--keep", "no")
    assert done.returncode == 2
    assert "anna\n  D-major/D/01-072-listen: within 5 cents" in done.stdout
    assert f"{broken} is no sound file" in done.stderr or "can read it" in done.stderr
    assert "Traceback" not in done.stderr


def test_another_temperament_is_told(made):
    folder, tracks = made
    track = tracks["01-072-listen"]
    done = run(folder / "anna-01-072-listen.wav", track.audio, "--against", "just", "--keep", "no")
    assert "Judged against just intonation, A = 440, not as the track sounds." in done.stdout


def test_a_recording_without_a_track_asks_for_one(made):
    folder, _ = made
    done = run(folder / "unnamed.wav")
    assert done.returncode == 2
    assert "which track is unnamed.wav a take of?" in done.stderr
