"""Trouble with disk, folder, libraries and signals: one plain sentence, and a status that tells."""

from __future__ import annotations

import os
import signal
import subprocess
import time
from pathlib import Path

import pytest
from program import command, run

from playalong import cli

DRILL = """title = "Faults"
instrument = "viola"
bar = "p1: 1 p3: 1 p1: 2 1"
note = "quarter"
passes = 1
stages = ["listen", "alone"]
tempo = { start = 60, goal = 120 }
"""
TRACKS_ALONE = ("--no-sheet", "--no-page", "--no-session")
SURROUNDINGS, HUNG_UP, INTERRUPTED, TERMINATED = 3, 129, 130, 143


@pytest.fixture
def drill(tmp_path: Path) -> Path:
    path = tmp_path / "faults.toml"
    path.write_text(DRILL, encoding="utf-8")
    return path


def make(
    drill: Path, out: Path, *before: str, **environment: str
) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [*before, *command("make", drill, "--out", out, *TRACKS_ALONE)],
        capture_output=True,
        text=True,
        env={**os.environ, **environment},
        timeout=60,
    )


def assert_told(told: subprocess.CompletedProcess[str], status: int, words: str) -> None:
    assert words in told.stderr
    assert told.returncode == status
    assert "Traceback" not in told.stderr
    assert len(told.stderr.strip().splitlines()) == 1


def assert_nothing_half(out: Path) -> None:
    import soundfile

    for path in out.rglob("*.mp3"):
        if not path.name.startswith("."):
            with soundfile.SoundFile(path) as file:
                file.seek(file.frames - 1)
                assert len(file.read()) == 1
    assert not list(out.rglob("*.part"))


def may_mount() -> bool:
    trial = "mount -t tmpfs -o size=1m tmpfs /mnt"
    return (
        subprocess.run(["unshare", "--mount", "sh", "-c", trial], capture_output=True).returncode
        == 0
    )


@pytest.mark.skipif(not may_mount(), reason="only root may mount a small disk")
def test_a_full_disk_is_told_and_leaves_no_half_file(drill: Path, tmp_path: Path) -> None:
    out = tmp_path / "out"
    out.mkdir()
    # a disk of 0.4 MB, on which a track or two find room
    script = (
        f'mount -t tmpfs -o size=400k tmpfs {out} && "$@"; status=$?; '
        f"cp -r {out} {tmp_path}/left; exit $status"
    )
    told = make(drill, out, "unshare", "--mount", "sh", "-c", script, "sh")
    assert_told(told, SURROUNDINGS, "left on ")  # "No space left on device", "no room is left on"
    assert list((tmp_path / "left").rglob("*.mp3"))
    assert_nothing_half(tmp_path / "left")


def test_no_room_for_what_is_kept_for_a_moment_is_told(drill: Path, tmp_path: Path) -> None:
    # no file may grow beyond 100 kB
    told = make(drill, tmp_path / "out", "prlimit", "--fsize=100000")
    assert_told(told, SURROUNDINGS, "make room there")
    assert_nothing_half(tmp_path / "out")


def bound_by_permissions() -> list[str]:
    """What stands before a command so that permissions hold, which root is otherwise above."""
    if os.geteuid() != 0:
        return []
    return ["setpriv", "--bounding-set=-dac_override,-dac_read_search"]


@pytest.mark.parametrize(("out", "not_made"), [(".", ".playalong"), ("new", "new")])
def test_a_folder_that_may_not_be_written_to_is_told(
    drill: Path, tmp_path: Path, out: str, not_made: str
) -> None:
    locked = tmp_path / "locked"
    locked.mkdir(mode=0o555)
    told = make(drill, locked / out, *bound_by_permissions())
    assert_told(told, SURROUNDINGS, f"cannot make the folder {locked / not_made}: Permission")
    assert not list(locked.iterdir())


def test_a_file_where_a_folder_is_wanted_is_told(drill: Path, tmp_path: Path) -> None:
    (tmp_path / "notes.txt").write_text("mine", encoding="utf-8")
    told = make(drill, tmp_path / "notes.txt/tracks")
    assert_told(told, SURROUNDINGS, f"cannot make the folder {tmp_path}/notes.txt/tracks: Not a")
    assert (tmp_path / "notes.txt").read_text(encoding="utf-8") == "mine"


def test_a_missing_fluidsynth_is_told_with_the_way_out(drill: Path, tmp_path: Path) -> None:
    (tmp_path / "broken").mkdir()
    (tmp_path / "broken/fluidsynth.py").write_text("raise ImportError('no library')")
    told = make(drill, tmp_path / "out", PYTHONPATH=str(tmp_path / "broken"))
    assert_told(told, SURROUNDINGS, "apt install libfluidsynth3")


def test_memory_that_runs_out_is_told(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def eat() -> None:
        raise MemoryError

    monkeypatch.setattr(cli, "STOPPING", ())  # the signals are those of the tests
    monkeypatch.setattr(cli, "app", eat)
    with pytest.raises(SystemExit, match=f"^{SURROUNDINGS}$"):
        cli.main()
    assert capsys.readouterr().err.startswith("playalong: there is not enough memory; ")


def test_a_bank_that_is_no_bank_is_told(drill: Path, tmp_path: Path) -> None:
    (tmp_path / "bad.sf2").write_bytes(b"RIFF" + b"\xff" * 500)
    told = run("make", drill, "--out", tmp_path / "out", "--soundfont", tmp_path / "bad.sf2")
    assert_told(told, 2, "bad.sf2")


@pytest.mark.parametrize(
    ("signum", "status"),
    [(signal.SIGINT, INTERRUPTED), (signal.SIGTERM, TERMINATED), (signal.SIGHUP, HUNG_UP)],
)
def test_a_stopped_build_says_so_soon_and_leaves_whole_files(
    drill: Path, tmp_path: Path, signum: int, status: int
) -> None:
    out = tmp_path / "out"
    process = subprocess.Popen(
        command("make", drill, "--out", out, *TRACKS_ALONE), stderr=subprocess.PIPE, text=True
    )
    while not list(out.rglob("*.mp3")):  # at work
        time.sleep(0.02)
        assert process.poll() is None
    process.send_signal(signum)
    _, told = process.communicate(timeout=20)
    assert process.returncode == status
    assert told.strip().splitlines()[-1].endswith("the same command goes on from here")
    assert_nothing_half(out)


def test_a_second_build_into_a_folder_says_so_and_stops(drill: Path, tmp_path: Path) -> None:
    out = tmp_path / "out"
    first = subprocess.Popen(command("make", drill, "--out", out, "--quiet", *TRACKS_ALONE))
    while not list(out.rglob("*.part")):
        time.sleep(0.02)
        assert first.poll() is None
    second = run("make", drill, "--out", out)
    first.terminate()
    first.wait(20)
    assert_told(second, SURROUNDINGS, "another build is at work")
