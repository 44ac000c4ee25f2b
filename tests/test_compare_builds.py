"""tests/bench/compare_builds.py sees every difference between two folders of builds, on tiny ones.

build_demos.py makes such folders; one small drill holds the two together.
"""

import json
import subprocess
import sys
from contextlib import redirect_stderr, redirect_stdout
from io import StringIO
from pathlib import Path

import numpy as np
import pytest
import soundfile
from bench.compare_builds import Builds, main

BENCH = Path(__file__).parent / "bench"
NOTES = [{"at": 0.5, "hz": 440.0, "sounds": True}, {"at": 1.0, "hz": 495.0, "sounds": True}]
TRACK = "drill/F-major/D/01-060-listen"


def write_builds(root, *, notes=NOTES, fingers=(1, 2), sample=0, midi=b"MThd", xml="<score/>"):
    (root / TRACK).parent.mkdir(parents=True)
    (root / f"{TRACK}.mid").write_bytes(midi)
    (root / f"{TRACK}.timeline.json").write_text(json.dumps({"bpm": 60, "notes": notes}))
    (root / "drill.explain.json").write_text(json.dumps([{"bars": [{"fingers": fingers}]}]))
    (root / "drill/sheet.musicxml").write_text(xml)
    (root / "drill/sheet.pdf").write_bytes(str(root).encode())
    sound = np.arange(2000, dtype=np.int16)
    sound[1234] += sample
    soundfile.write(root / f"{TRACK}.wav", sound, 44_100)
    return root


@pytest.fixture
def old(tmp_path):
    return write_builds(tmp_path / "old")


def compared(old, new):
    """Exit status, and what was said."""
    said = StringIO()
    with pytest.MonkeyPatch.context() as patch, redirect_stdout(said), redirect_stderr(said):
        patch.setattr(sys, "argv", ["compare_builds.py", str(old), str(new)])
        try:
            main()
        except SystemExit as end:
            return end.code, said.getvalue()
    return None, said.getvalue()  # it always ends with a status


def test_equal_builds_are_equal_and_told_so(old, tmp_path):
    status, said = compared(old, write_builds(tmp_path / "new"))
    assert status == 0
    assert said.splitlines() == [
        "MIDI: 1 compared, 0 differences",
        "timelines: 1 compared, 0 differences",
        "explanations: 1 compared, 0 differences",
        "sounds: 1 compared, 0 differences",
        "MusicXML: 1 compared, 0 differences",
        "not compared: .pdf",
    ]


@pytest.mark.parametrize(
    ("changed", "told"),
    [
        ({"midi": b"MThx"}, f"{TRACK}.mid: 4 bytes, now 4, the same up to byte 3"),
        ({"midi": b"MTh"}, f"{TRACK}.mid: 4 bytes, now 3, the same up to byte 3"),
        ({"xml": "<Score/>"}, "drill/sheet.musicxml: 8 bytes, now 8, the same up to byte 1"),
        (
            {"notes": [NOTES[0], NOTES[1] | {"hz": 495.001}]},
            f"{TRACK}.timeline.json: .notes[1].hz is 495.001, not 495.0",
        ),
        (
            {"notes": [NOTES[0] | {"sounds": 1}, NOTES[1]]},
            f"{TRACK}.timeline.json: .notes[0].sounds is 1, not true",
        ),
        ({"notes": NOTES[:1]}, f"{TRACK}.timeline.json: .notes has 1 entries, not 2"),
        (
            {"notes": [NOTES[0], {"at": 1.0, "sounds": True}]},
            f"{TRACK}.timeline.json: .notes[1].hz is gone",
        ),
        ({"fingers": (1, 3)}, "drill.explain.json: [0].bars[0].fingers[1] is 3, not 2"),
        (
            {"sample": 1},
            f"{TRACK}.wav: 1 frames differ, the first is 1234, by 3.1e-05 of full scale at most",
        ),
    ],
    ids=lambda value: next(iter(value)) if isinstance(value, dict) else "",
)
def test_one_change_is_told_with_its_place(old, tmp_path, changed, told):
    status, said = compared(old, write_builds(tmp_path / "new", **changed))
    assert status == 1
    assert f"  {told}\n" in said
    assert said.count("1 differences") == 1


def test_names_that_only_new_has_are_listed_once_and_no_difference(old, tmp_path):
    notes = [note | {"bow": "down"} for note in NOTES]
    status, said = compared(old, write_builds(tmp_path / "new", notes=notes))
    assert status == 0
    assert said.count("only in NEW") == 1
    assert "  only in NEW: .notes[].bow\n" in said


def test_a_file_that_only_one_folder_has_is_a_difference(old, tmp_path):
    new = write_builds(tmp_path / "new")
    (new / f"{TRACK}.mid").rename(new / "other.mid")
    status, said = compared(old, new)
    assert status == 1
    assert f"  {TRACK}.mid is only in OLD\n  other.mid is only in NEW\n" in said


def test_of_many_differences_the_first_are_told_and_the_rest_counted(old, tmp_path):
    for folder in (old, new := write_builds(tmp_path / "new")):
        (folder / "many.timeline.json").write_text(json.dumps([folder.name] * 9))
    _, said = compared(old, new)
    assert "timelines: 1 compared" not in said
    assert '  many.timeline.json: [4] is "new", not "old"\n  and 4 more\n' in said


@pytest.mark.parametrize("digested", ["old", "new", "both"])
def test_sums_of_samples_stand_for_the_sounds(old, tmp_path, digested):
    equal = write_builds(tmp_path / "equal")
    other = write_builds(tmp_path / "other", sample=1)
    for folder in {"old": [old], "new": [equal, other], "both": [old, equal, other]}[digested]:
        Builds(folder).take_sounds_away()
        assert not list(folder.rglob("*.wav"))
    status, said = compared(old, equal)
    assert status == 0
    assert "sounds: 1 compared, 0 differences\n" in said
    status, said = compared(old, other)
    assert status == 1
    assert f"  {TRACK}.wav: the samples have another sum\n" in said


def test_a_folder_without_builds_is_refused(old, tmp_path):
    status, said = compared(old, tmp_path / "nothing")
    assert status == 2
    assert "nothing holds no builds: no NAME.explain.json stands in it" in said


def test_what_build_demos_leaves_can_be_compared(tmp_path):
    drill = tmp_path / "small.toml"
    drill.write_text(
        'title = "Small"\ninstrument = "violin"\nstrings = ["A"]\nkeys = ["D major"]\n'
        'bar = "p1: 1 2 3 4 4 3 2 1"\nstages = ["listen"]\ntempo = { start = 120, goal = 120 }\n'
    )
    out = tmp_path / "out"
    asked = [sys.executable, BENCH / "build_demos.py", out, drill, "--digest"]
    subprocess.run(asked, check=True)
    assert not list(out.rglob("*.wav"))
    status, said = compared(out, out)
    assert status == 0
    for counted in ("MIDI: 1", "timelines: 1", "explanations: 1", "sounds: 5", "MusicXML: 1"):
        assert f"{counted} compared, 0 differences\n" in said
    again = subprocess.run(asked, capture_output=True, text=True, check=False)
    assert again.returncode == 2
    assert "out stands already" in again.stderr
