"""The commands as a person runs them: what they print, what they leave, how they fail."""

from __future__ import annotations

import json
import re
import subprocess
import sys
from pathlib import Path

import pytest
from program import run, run_alone
from test_json_shapes import documented

from playalong.cli.shared import COMMANDS
from playalong.shipped import demo_folder

SHORT = """
title = "A short one"
instrument = "violin"
strings = ["A"]
bar = "p1: 1 p3: 1 p1: 2 1"
note = "quarter"
passes = 1
stages = ["listen", "alone"]
[tempo]
start = 200
[click]
count_in = 1
[session]
rest = 0
"""


@pytest.fixture
def short(tmp_path: Path) -> Path:
    path = tmp_path / "short.toml"
    path.write_text(SHORT, encoding="utf-8")
    return path


def test_new_writes_a_drill_that_explain_and_make_accept_as_it_is(tmp_path: Path) -> None:
    assert run("new", "my.toml", cwd=tmp_path).returncode == 0
    told = run("explain", "my.toml", cwd=tmp_path)
    assert told.returncode == 0
    assert "same finger: finger 1 E4 to G4, minor third up, the hand travels 53 mm" in told.stdout


def test_commented_settings_of_the_starter_work_when_their_mark_is_taken_away() -> None:
    from playalong.drill.load import parse
    from playalong.drill.starter import starter

    text = re.sub(r"(?m)^# (?=\w+ +=|\[)", "", starter())
    without_upbeat = re.sub("(?m)^upbeat .*\n", "", text)  # it asks for another bar
    drill = parse(without_upbeat)
    assert drill.bow == "half bar"
    assert drill.gap == 1
    assert drill.session.play == 5
    assert [stage.name for stage in drill.stages] == ["listen", "answer", "check", "alone"]


def test_new_never_replaces_a_file_unasked(tmp_path: Path) -> None:
    (tmp_path / "my.toml").write_text("mine", encoding="utf-8")
    told = run("new", "my.toml", cwd=tmp_path)
    assert told.returncode == 2
    assert "my.toml is there already" in told.stderr
    assert (tmp_path / "my.toml").read_text(encoding="utf-8") == "mine"


def test_make_says_where_the_tracks_are_and_nothing_else_on_the_output(short: Path) -> None:
    told = run("make", short, "--out", "here", cwd=short.parent)
    assert told.returncode == 0, told.stderr
    assert told.stdout.startswith("2 tracks, ")
    assert (short.parent / "here/C-major/A/01-200-listen.mp3").is_file()


def test_make_quiet_says_nothing(short: Path) -> None:
    told = run_alone("make", short, "--out", "here", "--quiet", "--no-session", cwd=short.parent)
    assert (told.returncode, told.stdout, told.stderr) == (0, "", "")


def test_a_bank_of_ones_own_is_measured_first_and_told_of_unless_quiet(short: Path) -> None:
    from playalong.shipped import own_bank

    bank = short.parent / "mine.sf2"
    bank.write_bytes(own_bank().read_bytes())
    words = ("make", short, "--soundfont", bank, "--no-session", "--no-sheet", "--no-page")
    told = run(*words, "--out", "one", cwd=short.parent)
    assert told.returncode == 0
    assert "This bank is true: its notes stand up to" in told.stderr
    quiet = run(*words, "--out", "two", "--quiet", cwd=short.parent)
    assert (quiet.returncode, quiet.stdout, quiet.stderr) == (0, "", "")


def test_make_json_is_data_that_lists_every_file(short: Path) -> None:
    told = run("make", short, "--out", "here", "--json", "--stems", cwd=short.parent)
    data = json.loads(told.stdout)
    for track in data["tracks"]:
        for file in track["sha256"]:
            assert (short.parent / "here" / file).is_file()
    assert {Path(stem).suffixes[0] for stem in data["tracks"][0]["stems"].values()} == {
        ".guide",
        ".drone",
        ".click",
    }


def test_the_command_lines_words_stand_above_the_files(short: Path) -> None:
    told = run(
        "make", short, "--out", "here", "--json", "--no-session", "--key", "Bb major",
        "--string", "E", "--stage", "listen", "--start", "240", "--goal", "260",
        "--format", "flac", cwd=short.parent,
    )  # fmt: skip
    tracks = json.loads(told.stdout)["tracks"]
    assert {(t["key"], t["string"], t["stage"]) for t in tracks} == {("Bb major", "E", "listen")}
    assert [track["bpm"] for track in tracks] == [240, 248, 256, 260]
    assert tracks[0]["audio"] == "B-flat-major/E/01-240-listen.flac"


def test_what_is_not_asked_for_this_time_stays_where_it_stands(short: Path) -> None:
    """Only a changed drill takes files away; an option is a choice for once."""
    out = short.parent / "here"
    assert run("make", short, "--out", out, "--quiet").returncode == 0
    files = {path for path in out.rglob("*") if path.is_file() and path.suffix != ".jsonl"}
    assert {"session.mp3", "sheet.pdf", "index.html"} <= {path.name for path in files}
    for choice in (("--no-session",), ("--no-sheet",), ("--no-page",), ("--stage", "listen")):
        told = run("make", short, "--out", out, "--json", *choice)
        assert json.loads(told.stdout)["removed"] == [], choice
        assert all(path.is_file() for path in files), choice


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--key", "H major"), '--key: "H major" is not a key; did you mean "B major"?'),
        (("--string", "Q"), 'has no "Q" string; its strings are E, A, D, G'),
        (("--stage", "lisen"), 'did you mean "listen"?'),
        (("--start", "10"), "10 is outside 20 to 320 beats a minute"),
        (("--start", "90", "--goal", "80"), "lies below the start"),
        (("--positions", "four"), '"four" is not a reach like 1-4'),
        (("--positions", "4-1"), 'did you mean "1-4"?'),
        (("--bitrate", "17"), "17 kbit/s is not offered"),
        (("--soundfont", "none.sf2"), "cannot be found"),
        (("--key", "Cb major", "--string", "E"), "at or below the open string E5"),
    ],
    ids=lambda value: " ".join(value) if isinstance(value, tuple) else "",
)
def test_a_wrong_word_is_one_clear_message_and_exit_2(
    short: Path, words: tuple[str, ...], said: str
) -> None:
    told = run("make", short, "--out", "here", *words, cwd=short.parent)
    assert told.returncode == 2
    assert said in told.stderr
    assert "Traceback" not in told.stderr
    assert not list(short.parent.glob("here/**/*.mp3"))


def test_a_wrong_drill_names_its_file_and_line(tmp_path: Path) -> None:
    wrong = tmp_path / "wrong.toml"
    wrong.write_text(SHORT.replace('"A"', '"H"'), encoding="utf-8")
    told = run("explain", wrong)
    assert told.returncode == 2
    assert f'{wrong}, line 4: strings: violin has no "H" string' in told.stderr


def test_explain_json_is_the_same_as_data(short: Path) -> None:
    (told,) = json.loads(run("explain", short, "--json").stdout)
    shift = told["bars"][0]["shifts"][0]
    assert (shift["kind"], shift["from_place"], shift["to_place"]) == ("same finger", "B4", "D5")
    # 2 and 5 semitones above the open string of 328 mm: 35.79 and 82.28 mm (computed,
    # x = L (1 - 2^(-n/12)))
    assert shift["travel_mm"] == pytest.approx(82.28 - 35.79, abs=0.1)


def test_explain_lists_the_settings_without_a_drill() -> None:
    told = run("explain", "--settings").stdout.splitlines()
    assert told[0].split("  ")[0] == "setting"
    (passes,) = (line for line in told if line.startswith("passes "))
    assert re.fullmatch(r"passes +how often the bar is played at each starting position +2", passes)


def test_schema_prints_json_schema_in_ascii() -> None:
    told = run("schema").stdout
    assert told.isascii()
    assert json.loads(told)["$schema"] == "https://json-schema.org/draft/2020-12/schema"


def test_bank_says_how_true_a_soundfont_is() -> None:
    from playalong.shipped import own_bank

    told = run("bank", own_bank())
    assert told.returncode == 0
    assert re.fullmatch(
        r"This bank is true: its notes stand up to 0\.\d cents off pitch "
        r"and waver over up to 0\.\d cents\.\n",
        told.stdout,
    )


def test_the_demo_is_made_and_says_what_to_open(tmp_path: Path) -> None:
    told = run("demo", cwd=tmp_path)
    assert told.returncode == 0, told.stderr
    opened = [line.split(maxsplit=2)[-1] for line in told.stdout.splitlines() if "Listen" in line]
    assert (tmp_path / opened[0]).is_file()
    again = json.loads(run("demo", "--json", cwd=tmp_path).stdout)
    assert again["fresh"] == 0
    assert set(again) == {re.split(r"[.[…]", name)[0] for name in documented("make, demo")}


def test_help_lists_the_commands_in_the_order_in_which_they_are_needed() -> None:
    listed = run("--help").stdout.partition("Commands:\n")[2]
    assert tuple(re.findall(r"(?m)^  (\w+)", listed)) == COMMANDS


def test_help_starts_without_the_heavy_libraries() -> None:
    code = (
        "import sys, playalong.cli as c\n"
        "try: c.app(['--help'])\n"
        "except SystemExit: pass\n"
        "heavy = {'numpy', 'scipy', 'soundfile', 'mido', 'pyloudnorm', 'rich'} & set(sys.modules)\n"
        "print('HEAVY', sorted(heavy))"
    )
    told = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert "HEAVY []" in told.stdout


@pytest.mark.parametrize("drill", sorted(demo_folder().glob("*.toml")), ids=lambda p: p.stem)
def test_every_demo_drill_explains_and_plans(drill: Path) -> None:
    from playalong.drill.load import load
    from playalong.making.plan import Options, plan_build
    from playalong.shipped import own_bank

    assert plan_build(load(drill), Options(own_bank())).tracks
    assert run("explain", drill).returncode == 0
