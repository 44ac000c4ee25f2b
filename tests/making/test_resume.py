"""Builds that go on where they stood, do nothing twice and lose nothing."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest
from hostile.kills import BUILT as DRILL
from hostile.kills import contents
from playing import BANK

from playalong.drill.load import load
from playalong.drill.variation import Variation
from playalong.making.make import Built, make
from playalong.making.plan import Options

FLAC = Options(BANK, format="flac")


@pytest.fixture
def drill(tmp_path: Path) -> Path:
    path = tmp_path / "kept.toml"
    path.write_text(DRILL, encoding="utf-8")
    return path


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The drill's folder, made once; a test works on its own copy, `out`."""
    folder = tmp_path_factory.mktemp("made")
    drill = folder / "kept.toml"
    drill.write_text(DRILL, encoding="utf-8")
    build(drill, folder / "out")
    return folder / "out"


@pytest.fixture
def out(made: Path, tmp_path: Path) -> Path:
    return shutil.copytree(made, tmp_path / "out")


def build(drill: Path, out: Path, options: Options = FLAC, *, verify: bool = False) -> Built:
    return make(load(drill), out, options, verify=verify)


def times(out: Path) -> dict[str, int]:
    return {name: (out / name).stat().st_mtime_ns for name in contents(out)}


def test_a_finished_build_does_nothing_when_it_is_asked_again(drill: Path, tmp_path: Path) -> None:
    out = tmp_path / "out"
    assert build(drill, out).fresh == 2 * 2 * 2 + 2 + 2  # tracks, sessions, sheet and page
    before = times(out)
    again = build(drill, out)
    assert again.fresh == 0
    assert times(out) == before
    assert again.manifest == build(drill, out, verify=True).manifest


def test_a_comment_in_the_drill_remakes_no_track(drill: Path, out: Path) -> None:
    drill.write_text("# for the viola desk\n" + DRILL, encoding="utf-8")
    assert build(drill, out).fresh == 0


def test_a_missing_file_is_made_again(drill: Path, out: Path) -> None:
    whole = contents(out)
    (out / "C-major/A/01-200-listen.flac").unlink()
    assert build(drill, out).fresh == 1
    assert contents(out) == whole


def test_a_longer_ladder_leaves_the_rungs_below_it_as_they_are(drill: Path, out: Path) -> None:
    before = times(out)
    drill.write_text(DRILL.replace("208", "216"), encoding="utf-8")
    assert build(drill, out).fresh == 2 * 2 + 2 + 2  # the new rung's, sessions, paper
    tracks = [name for name in before if "-200-" in name or "-208-" in name]
    assert {name: times(out)[name] for name in tracks} == {name: before[name] for name in tracks}


def test_a_changed_drill_takes_away_only_what_it_left_itself(drill: Path, out: Path) -> None:
    (out / "G-major/A/notes.txt").write_text("the teacher's own")
    drill.write_text(DRILL.replace(', "G major"', ""), encoding="utf-8")
    assert build(drill, out).cleared.left_alone == ()
    assert [path.name for path in (out / "G-major/A").iterdir()] == ["notes.txt"]
    assert set(contents(out)) - {"G-major/A/notes.txt"} == {
        *(file for track in build(drill, out).manifest.tracks for file in track.sha256),
        *(f"page/{track.audio}.css" for track in build(drill, out).manifest.tracks),
        "C-major/A/session.flac",
        "manifest.json",
        "index.html",
        "sheet.pdf",
        "sheet.musicxml",
        "read-me-first.txt",
    }


def test_making_a_part_of_the_drill_takes_nothing_away(drill: Path, out: Path) -> None:
    before = set(contents(out))
    part = load(drill, Variation(keys=("G major",), stages=("listen",)))
    assert make(part, out, FLAC, narrowed=True).cleared.removed == ()
    assert before <= set(contents(out))
    whole = build(drill, out)
    assert len(whole.manifest.tracks) == 2 * 2 * 2
    assert whole.cleared.left_alone == ()


def test_the_whole_after_a_part_makes_nothing_again_that_stood_before(
    drill: Path, out: Path
) -> None:
    before = times(out)
    make(load(drill, Variation(keys=("G major",))), out, FLAC, narrowed=True)
    build(drill, out)
    made = {name for name, at in times(out).items() if before[name] != at}
    assert not {name for name in made if name.startswith("C-major/")}


def test_what_is_taken_away_is_counted(drill: Path, out: Path) -> None:
    drill.write_text(DRILL.replace(', "G major"', ""), encoding="utf-8")
    removed = build(drill, out).cleared.removed
    # four tracks of three files each, and a session
    assert len([name for name in removed if name.startswith("G-major/")]) == 4 * 3 + 1


@pytest.mark.parametrize(
    ("before", "after"),
    [
        ("session.rest = 0", "session.rest = 0.01"),
        ("session.rest = 0", "session = { rest = 0, taps = false }"),
        ("session.rest = 0", "session = { rest = 0, home = true }"),
    ],
)
def test_another_session_leaves_every_track_as_it_is(
    before: str, after: str, drill: Path, out: Path
) -> None:
    stood, sounded = times(out), contents(out)
    drill.write_text(DRILL.replace(before, after), encoding="utf-8")
    build(drill, out)
    remade = {name for name, at in times(out).items() if stood[name] != at}
    assert {name for name in remade if name.endswith((".flac", ".mid", ".json"))} == {
        "C-major/A/session.flac",
        "G-major/A/session.flac",
        "manifest.json",
    }
    for name in ("C-major/A/session.flac", "G-major/A/session.flac"):
        assert contents(out)[name] != sounded[name]


def test_the_ladder_remakes_the_sessions_and_no_track(drill: Path, out: Path) -> None:
    stood = times(out)
    build(drill, out, Options(BANK, format="flac", whole_ladder=True))
    remade = {name for name, at in times(out).items() if stood[name] != at}
    assert {name for name in remade if name.endswith(".flac")} == {
        "C-major/A/session.flac",
        "G-major/A/session.flac",
    }


def test_a_changed_bar_remakes_every_track(drill: Path, out: Path) -> None:
    drill.write_text(DRILL.replace("2 1", "1 2"), encoding="utf-8")
    assert build(drill, out).fresh == 2 * 2 * 2 + 2 + 2


def test_other_options_remake_and_leave_no_file_of_the_old_format(drill: Path, out: Path) -> None:
    build(drill, out, Options(BANK, format="wav"))
    assert not list(out.rglob("*.flac"))
