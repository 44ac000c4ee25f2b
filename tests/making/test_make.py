"""make: the folder that it leaves behind, file by file."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import soundfile
from numpy.typing import NDArray
from playing import BANK, drill_of, midi_bytes, play_drill

import playalong.making.rung as rung_module
from playalong.drill.model import Drill
from playalong.drill.variation import Variation
from playalong.errors import PlayalongError
from playalong.folder.files import WriteError
from playalong.folder.names import RECORD_FOLDER, AudioFormat
from playalong.making.make import Built, make
from playalong.making.plan import Options
from playalong.performance.timing import timeline_of
from playalong.sound.audio import ENCODINGS

BAR = "( p1: 1 2 ) p3: 3 1"
QUICK = 'note = "quarter"\npasses = 1\nsession.rest = 0\n'
STAGES = ("listen", "answer", "check", "alone")
ENDINGS = (".mp3", ".mid", ".timeline.json", ".guide.mp3", ".drone.mp3", ".click.mp3")


def quick_drill(more: str = "", *, start: int = 200, goal: int = 200, title: str = "T") -> Drill:
    tempo = f"tempo = {{ start = {start}, goal = {goal} }}\n"
    return drill_of(BAR, QUICK + tempo + more, title=title)


def files_in(folder: Path) -> dict[str, bytes]:
    """Every file below a folder, by its path with forward slashes; not the build's record."""
    paths = (
        path for path in folder.rglob("*") if path.is_file() and RECORD_FOLDER not in path.parts
    )
    return {path.relative_to(folder).as_posix(): path.read_bytes() for path in paths}


def manifest_of(out: Path) -> dict[str, Any]:
    data: dict[str, Any] = json.loads((out / "manifest.json").read_text(encoding="utf-8"))
    return data


def sound_of(path: Path) -> NDArray[np.int16]:
    sound: NDArray[np.int16] = soundfile.read(path, dtype="int16")[0]
    return sound


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Built:
    """Two keys, two rungs, four stages, with stems, as MP3."""
    drill = quick_drill('keys = ["F major", "G major"]', goal=208, title="Übung")
    return make(drill, tmp_path_factory.mktemp("out"), Options(BANK, stems=True))


# --- the folder


def test_the_folder_holds_what_the_manifest_tells_and_nothing_else(made: Built) -> None:
    data, found = manifest_of(made.out), files_in(made.out)
    listed = {file: sha for entry in data["tracks"] for file, sha in entry["sha256"].items()}
    listed |= {file: sha for entry in data["sessions"] for file, sha in entry["sha256"].items()}
    stems = [stem for entry in data["tracks"] for stem in entry["stems"].values()]
    assert {f"page/{stem}.css" for stem in stems} < data["sha256"].keys()
    listed |= {file: sha for file, sha in data["sha256"].items() if file.startswith("page/")}
    sheet = data["sheet"]
    others = {"manifest.json", "read-me-first.txt", "index.html", "sheet.pdf", *sheet["musicxml"]}
    assert set(found) == set(listed) | others
    for file, sha in listed.items():
        assert hashlib.sha256(found[file]).hexdigest() == sha


def test_every_key_and_string_has_a_folder_of_numbered_tracks_and_a_session(made: Built) -> None:
    tracks = [(bpm, stage) for bpm in (200, 208) for stage in STAGES]
    for key in ("F-major", "G-major"):
        assert set(files_in(made.out / key / "D")) == {"session.mp3"} | {
            f"{number:02}-{bpm}-{stage}{ending}"
            for number, (bpm, stage) in enumerate(tracks, 1)
            for ending in ENDINGS
        }


def test_the_manifest_names_every_file_of_a_track_and_its_length(made: Built) -> None:
    data = manifest_of(made.out)
    assert data["drill"]["title"] == "Übung"
    assert len(data["tracks"]) == 16
    for entry in data["tracks"]:
        named = [entry["audio"], entry["midi"], entry["timeline"], *entry["stems"].values()]
        assert set(named) == set(entry["sha256"])
        assert list(entry["stems"]) == ["guide", "drone", "click"]
        for audio in (entry["audio"], *entry["stems"].values()):
            info = soundfile.info(made.out / audio)
            assert info.frames == round(entry["seconds"] * 44_100)
        told = json.loads((made.out / entry["timeline"]).read_text(encoding="utf-8"))
        same = ("key", "string", "bpm", "stage", "seconds")
        assert [told[name] for name in same] == [entry[name] for name in same]
    for session in data["sessions"]:
        info = soundfile.info(made.out / session["audio"])
        assert info.frames == round(session["seconds"] * 44_100)


def test_midi_and_timeline_are_those_of_the_performance(made: Built) -> None:
    drill = quick_drill('keys = ["F major", "G major"]', goal=208, title="Übung")
    for stage, number in zip(STAGES, range(1, 5), strict=True):
        performance = play_drill(drill, 200, stage)
        stem = made.out / "F-major" / "D" / f"{number:02}-200-{stage}"
        assert stem.with_suffix(".mid").read_bytes() == midi_bytes(performance)
        told = stem.with_suffix(".timeline.json").read_text(encoding="utf-8")
        assert told == timeline_of(performance).to_json()


# --- the sound


@pytest.mark.parametrize("format", AudioFormat)
def test_making_it_twice_gives_the_same_bytes(tmp_path: Path, format: AudioFormat) -> None:
    drill = quick_drill('stages = ["listen", "alone"]')
    # the sheet, which takes longest, is the same beside every format
    options = Options(BANK, format=format, sheet=format == "mp3")
    one, two = tmp_path / "one", tmp_path / "two"
    make(drill, one, options, jobs=2)
    make(drill, two, options, jobs=1)
    first = files_in(one)
    assert first == files_in(two)
    assert f"C-major/D/01-200-listen{format.ending}" in first
    rate = ENCODINGS[format].sample_rate_hz
    for entry in manifest_of(one)["tracks"]:
        assert soundfile.info(one / entry["audio"]).frames == round(entry["seconds"] * rate)


@pytest.fixture(scope="module")
def wav(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Four stages with stems and a session, as WAV."""
    out = tmp_path_factory.mktemp("wav")
    make(quick_drill(), out, Options(BANK, format="wav", stems=True))
    return out / "C-major" / "D"


def test_drone_and_click_are_the_same_sound_in_every_stage(wav: Path) -> None:
    for part in ("drone", "click"):
        # one pass and two passes: listen, check and alone last equally long
        sounds = [sound_of(wav / f"0{n}-200-{STAGES[n - 1]}.{part}.wav") for n in (1, 3, 4)]
        assert np.any(sounds[0])
        assert all(np.array_equal(sounds[0], other) for other in sounds[1:])


def test_stems_add_up_to_the_track(wav: Path) -> None:
    for number, stage in enumerate(STAGES, 1):
        track = sound_of(wav / f"0{number}-200-{stage}.wav").astype(int)
        stems = [
            sound_of(wav / f"0{number}-200-{stage}.{part}.wav")
            for part in ("guide", "drone", "click")
        ]
        assert np.abs(track - np.sum(stems, axis=0, dtype=int)).max() <= 2  # of 32768, rounding


def test_split_puts_the_guide_left_and_drone_and_click_right(wav: Path, tmp_path: Path) -> None:
    drill = quick_drill('stages = ["listen"]\nsession.taps = false')
    make(drill, tmp_path, Options(BANK, format="wav", split=True))
    both = sound_of(tmp_path / "C-major" / "D" / "01-200-listen.wav").astype(int)
    assert both.shape[1] == 2
    stem = wav / "01-200-listen"
    guide, drone, click = (
        sound_of(Path(f"{stem}.{p}.wav")).astype(int) for p in ("guide", "drone", "click")
    )
    assert np.abs(both[:, 0] - guide).max() <= 1
    assert np.abs(both[:, 1] - (drone + click)).max() <= 2
    session = soundfile.info(tmp_path / "C-major" / "D" / "session.wav")
    assert session.channels == 2


def test_the_bit_rate_is_what_was_asked_for(tmp_path: Path) -> None:
    drill = quick_drill('stages = ["listen"]')
    out = {kbps: tmp_path / str(kbps) for kbps in (64, 128)}
    for kbps, folder in out.items():
        make(drill, folder, Options(BANK, bitrate_kbps=kbps, sessions=False))
    small, large = (len(files_in(out[k])["C-major/D/01-200-listen.mp3"]) for k in out)
    assert 1.8 < large / small < 2.1


def test_without_sessions_there_is_no_session(tmp_path: Path) -> None:
    made = make(quick_drill('stages = ["alone"]'), tmp_path, Options(BANK, "wav", sessions=False))
    assert made.manifest.sessions == ()
    assert "C-major/D/session.wav" not in files_in(tmp_path)


# --- who is told


def test_the_watcher_hears_of_every_second_and_the_starter_of_the_plan(tmp_path: Path) -> None:
    seconds: list[float] = []
    starts: list[tuple[int, float]] = []
    made = make(
        quick_drill('stages = ["listen", "alone"]'),
        tmp_path,
        Options(BANK, format="wav", sessions=False),
        started=lambda tracks, seconds: starts.append((tracks, seconds)),
        watch=seconds.append,
    )
    whole = sum(track.seconds for track in made.plan.tracks)
    assert starts == [(2, whole)]
    assert sum(seconds) == pytest.approx(whole)


def test_what_is_skipped_and_left_out_stands_in_the_manifest(tmp_path: Path) -> None:
    drill = drill_of(
        "p0: 1 2 3 4",
        f'{QUICK}keys = ["C major", "Eb major"]\nstages = ["alone"]\ntempo.start = 200\nclimb = 2',
    )
    options = Options(BANK, format="wav", skip_unplayable=True, sessions=False)
    near = Variation(positions=(0, 0)).of(drill)
    told = make(near, tmp_path, options).manifest.left_out
    assert [line.split(":")[0] for line in told] == [
        "Eb major on the D string",
        "C major on the D string",
    ]


# --- what goes wrong


class BreaksError(Exception):
    """A failure that nobody foresaw."""


def test_an_error_in_the_middle_leaves_whole_files_only(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    drill, options = quick_drill(), Options(BANK, format="wav")
    make(drill, tmp_path / "whole", options)
    whole = files_in(tmp_path / "whole")
    calls = iter(range(10))

    def broken(blocks: Iterator[Any], watch: object) -> Iterator[Any]:
        if next(calls) < 2:
            yield from blocks
        else:
            yield next(iter(blocks))
            raise BreaksError("nobody foresaw this")

    monkeypatch.setattr(rung_module, "watched", broken)
    with pytest.raises(BreaksError, match="nobody foresaw this"):
        make(drill, tmp_path / "half", options)
    left = files_in(tmp_path / "half")
    assert "C-major/D/02-200-answer.wav" in left
    assert "C-major/D/03-200-check.wav" not in left
    assert "manifest.json" not in left
    assert {name: whole[name] for name in left} == left


def test_the_first_failure_stops_what_has_not_begun(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    begun = []

    def broken(blocks: Iterator[Any], watch: object) -> Iterator[Any]:
        begun.append(1)
        raise BreaksError("nobody foresaw this")
        yield

    monkeypatch.setattr(rung_module, "watched", broken)
    drill = quick_drill('stages = ["alone"]', goal=320)
    with pytest.raises(BreaksError, match="nobody foresaw this"):
        make(drill, tmp_path, Options(BANK, format="wav"), jobs=1)
    assert len(begun) <= 3  # of 16 rungs; those on their way are not stopped


def test_a_file_where_the_folder_should_be_is_told(tmp_path: Path) -> None:
    (tmp_path / "out").write_text("")
    with pytest.raises(WriteError, match=r"cannot make the folder .*out: File exists"):
        make(quick_drill(), tmp_path / "out", Options(BANK))


def test_a_bank_that_is_none_is_told_before_anything_is_made(tmp_path: Path) -> None:
    (tmp_path / "bank.sf2").write_bytes(b"no bank")
    with pytest.raises(PlayalongError, match=r"bank\.sf2"):
        make(quick_drill(), tmp_path / "out", Options(tmp_path / "bank.sf2"))
    assert not (tmp_path / "out").exists()


@pytest.mark.parametrize(
    "title", ["../../x", "練" * 300, "con", "a\\b: c?", "🎻 \u202e right to left"]
)
def test_no_title_leads_out_of_the_folder_or_stops_a_tag(tmp_path: Path, title: str) -> None:
    out = tmp_path / "in" / "out"
    drill = drill_of(
        BAR, QUICK + 'stages = ["alone"]\ntempo.start = 200', title=title.replace("\\", "\\\\")
    )
    make(drill, out, Options(BANK, sessions=False))
    assert {path.parts[0] for path in map(Path, files_in(tmp_path))} == {"in"}
    assert sorted(path.name for path in (tmp_path / "in").iterdir()) == ["out"]
    assert manifest_of(out)["drill"]["title"] == title
