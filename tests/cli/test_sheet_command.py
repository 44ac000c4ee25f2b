"""playalong sheet, as a person runs it."""

from __future__ import annotations

import json
from subprocess import CompletedProcess

import program

from playalong.shipped import demo_folder

DRILL = demo_folder() / "02-substitution.toml"


def run(*words: object) -> CompletedProcess[str]:
    return program.run("sheet", *words)


def test_it_prints_every_key_and_string_and_says_where(tmp_path):
    done = run(DRILL, "--out", tmp_path / "out")
    assert done.returncode == 0, done.stderr
    assert done.stdout == f"{tmp_path / 'out' / 'sheet.pdf'}: 2 pages, and 6 files beside it\n"
    assert (tmp_path / "out" / "sheet.pdf").read_bytes().startswith(b"%PDF")


def test_key_string_paper_and_json_are_heeded(tmp_path):
    done = run(DRILL, "-o", tmp_path, "--string", "A", "--paper", "letter", "--json")
    told = json.loads(done.stdout)
    assert told["pages"] == 1
    assert told["files"] == ["sheet.pdf", "sheet.musicxml", "sheet.svg", "fingerboard.svg"]
    assert b"/MediaBox [0 0 612.00 792.00]" in (tmp_path / "sheet.pdf").read_bytes()


def test_a_reach_without_a_place_is_refused(tmp_path):
    done = run(DRILL, "-o", tmp_path, "--positions", "9-10")
    assert done.returncode == 2
    assert "no starting position of the climb lies within positions 9-10" in done.stderr


def test_what_cannot_be_played_is_left_out_and_told_where_asked(tmp_path):
    drill = tmp_path / "drill.toml"
    drill.write_text(
        'title = "T"\ninstrument = "violin"\nstrings = ["E"]\nkeys = ["Cb major", "C major"]\n'
        'bar = "p1: 1*8"\n',
        encoding="utf-8",
    )
    assert run(drill, "-o", tmp_path / "out").returncode == 2
    done = run(drill, "-o", tmp_path / "out", "--skip-unplayable", "--json")
    assert done.returncode == 0, done.stderr
    assert "skipped: Cb major on the E string" in done.stderr
    assert json.loads(done.stdout)["pages"] == 1


def test_another_drills_folder_is_refused_and_stays_as_it_is(tmp_path):
    assert run(DRILL, "-o", tmp_path).returncode == 0
    before = {path.name: path.read_bytes() for path in tmp_path.iterdir() if path.is_file()}
    done = run(demo_folder() / "01-same-finger.toml", "-o", tmp_path)
    assert done.returncode == 3
    assert "holds the tracks of another drill" in done.stderr
    after = {path.name: path.read_bytes() for path in tmp_path.iterdir() if path.is_file()}
    assert after == before


def test_a_sheet_that_somebody_has_changed_is_kept_and_told(tmp_path):
    run(DRILL, "-o", tmp_path)
    (tmp_path / "sheet.pdf").write_bytes(b"with my fingerings")
    done = run(DRILL, "-o", tmp_path)
    assert "changed by somebody, so kept: sheet.pdf; the new one is sheet.new.pdf" in done.stderr
    assert (tmp_path / "sheet.pdf").read_bytes() == b"with my fingerings"
    assert (tmp_path / "sheet.new.pdf").read_bytes().startswith(b"%PDF")
