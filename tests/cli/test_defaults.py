"""A person's own defaults: what they change, what they leave alone, and how they can be wrong."""

from __future__ import annotations

import json
import re
import tomllib
from pathlib import Path
from subprocess import CompletedProcess

import program
import pytest

from playalong.cli.defaults import ROWS, Defaults
from playalong.drill.load import load
from playalong.settings import SettingsError, SettingsFile

FULL = """# mine
paper = "Letter"
format = "flac"
a4 = 442

[instrument]
name = "violin"
string_length_mm = 290
"""
LEAST = 'title = "Least"\nbar = "p1: 1 p3: 1 p1: 2 1"\nnote = "quarter"\nstages = ["alone"]\n'


@pytest.fixture
def home(tmp_path: Path) -> Path:
    """A folder to work in, with a settings folder of its own."""
    (tmp_path / "config/playalong").mkdir(parents=True)
    return tmp_path


def write(home: Path, text: str) -> Path:
    path = home / "config/playalong/defaults.toml"
    path.write_text(text, encoding="utf-8")
    return path


def run(home: Path, *words: object) -> CompletedProcess[str]:
    return program.run(*words, cwd=home, XDG_CONFIG_HOME=str(home / "config"))


def explained(home: Path, drill: str) -> dict[str, object]:
    (home / "drill.toml").write_text(drill, encoding="utf-8")
    told = run(home, "explain", "drill.toml", "--json")
    assert told.returncode == 0, told.stderr
    data: dict[str, object] = json.loads(told.stdout)[0]
    return data


def first_hz(explanation: dict[str, object]) -> float:
    return explanation["bars"][0]["notes"][0]["hz"]  # type: ignore[index, no-any-return]


# The tempered E4 of A4 = 440 and of A4 = 442 Hz (computed, 5 half steps below)
def test_a_drill_takes_instrument_and_pitch_that_it_does_not_say(home: Path) -> None:
    write(home, FULL)
    least = explained(home, LEAST)
    assert least["instrument"] == "violin"
    assert first_hz(least) == pytest.approx(442 * 2 ** (-5 / 12), abs=0.001)


def test_what_a_drill_says_stands_above_the_defaults(home: Path) -> None:
    write(home, FULL)
    said = explained(home, LEAST + 'instrument = "viola"\n[tuning]\na4 = 440\n')
    assert said["instrument"] == "viola"
    assert first_hz(said) == pytest.approx(440 * 2 ** (-5 / 12), abs=0.001)


def test_make_and_sheet_take_paper_and_format_unless_the_command_line_says_otherwise(
    home: Path,
) -> None:
    write(home, FULL)
    (home / "drill.toml").write_text(LEAST + "passes = 1\ntempo.start = 240\n", encoding="utf-8")
    run(home, "make", "drill.toml", "-o", "made", "--no-session", "--no-page", "--quiet")
    assert [path.name for path in (home / "made").rglob("*.flac")] == ["01-240-alone.flac"]
    letter, a4 = b"/MediaBox [0 0 612.00 792.00]", b"/MediaBox [0 0 595.28 841.89]"
    assert letter in (home / "made/sheet.pdf").read_bytes()
    run(home, "sheet", "drill.toml", "-o", "letter")
    assert letter in (home / "letter/sheet.pdf").read_bytes()
    run(home, "sheet", "drill.toml", "-o", "a4", "--paper", "A4")
    assert a4 in (home / "a4/sheet.pdf").read_bytes()


def test_new_writes_for_your_own_instrument_or_the_one_that_you_name(home: Path) -> None:
    write(home, FULL)
    run(home, "new", "mine.toml")
    assert load(home / "mine.toml").instrument.string_length_mm == 290
    run(home, "new", "cello.toml", "--instrument", "cello")
    assert load(home / "cello.toml").instrument.name == "cello"
    told = run(home, "new", "wrong.toml", "--instrument", "violn")
    assert (told.returncode, not (home / "wrong.toml").exists()) == (2, True)
    assert '--instrument: "violn" is not an instrument known here; did you mean "violin"?' in (
        told.stderr
    )


def test_the_library_never_reads_a_persons_settings(
    home: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    write(home, FULL)
    monkeypatch.setenv("XDG_CONFIG_HOME", str(home / "config"))
    (home / "drill.toml").write_text(LEAST + 'instrument = "viola"\n', encoding="utf-8")
    assert load(home / "drill.toml").tuning.a4_hz == 440


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ('papr = "a4"', 'line 1: "papr" is not known here; did you mean "paper"?'),
        ('\npaper = "a5"', 'line 2: paper: "a5" is not known here; did you mean "a4"?'),
        ('format = "mp4"', 'line 1: format: "mp4" is not known here; did you mean "mp3"?'),
        ("format = 3", "line 1: format: 3 is not text in quotes"),
        ("a4 = 500", "line 1: a4: 500 is outside 380 to 480 Hz"),
        ('a4 = "440"', 'line 1: a4: "440" is not a number from 380 to 480 Hz'),
        ('instrument = "violn"', 'line 1: instrument: "violn" is not .* did you mean "violin"?'),
        ("[instrument]\nlength = 3", 'line 1: instrument: "length" is not known here'),
        ('[tuning]\na4 = 440', 'line 1: "tuning" is not known here; known are "paper", .*"a4"'),
        ("\n\npaper = a4", "line 3 is not TOML; text stands in double quotes"),
    ],
)  # fmt: skip
def test_a_wrong_default_names_file_line_value_and_the_nearest_right_thing(
    home: Path, text: str, said: str
) -> None:
    path = write(home, text)
    with pytest.raises(SettingsError, match=rf"defaults\.toml, {said}"):
        Defaults(SettingsFile.read(path))
    (home / "drill.toml").write_text(LEAST, encoding="utf-8")
    told = run(home, "explain", "drill.toml")
    assert (told.returncode, len(told.stderr.splitlines())) == (2, 1)
    assert told.stderr.startswith(f"playalong: {path}, line ")


def test_settings_tells_which_files_are_read_and_where_each_default_comes_from(home: Path) -> None:
    path = write(home, FULL)
    mail = path.with_name("mail.toml")
    lines = run(home, "settings").stdout.splitlines()
    assert lines[:2] == [f"{path} (defaults)", f"{mail} (mail --send): not there"]
    table = [re.split("  +", line) for line in lines[4:]]
    assert [row[0] for row in table] == list(ROWS)
    assert table[1][1:3] == ['"flac"', "defaults.toml, line 3"]
    told = json.loads(run(home, "settings", "--json").stdout)
    assert told["files"][1] == {"path": str(mail), "for": "mail --send", "is_there": False}
    assert told["defaults"] == [
        {"setting": name, "value": tomllib.loads(FULL)[name], "line": line}
        for name, line in zip(ROWS, (2, 3, 6, 4), strict=True)
    ]


def test_settings_without_a_file_are_what_is_built_in(home: Path) -> None:
    told = json.loads(run(home, "settings", "--json").stdout)
    assert [(each["value"], each["line"]) for each in told["defaults"]] == [
        ("a4", None), ("mp3", None), (None, None), (440, None)
    ]  # fmt: skip


def test_the_defaults_in_the_readme_are_good_and_all() -> None:
    readme = (Path(__file__).parents[2] / "README.md").read_text(encoding="utf-8")
    (shown,) = re.findall(r"```\n(paper .*?)```", readme, re.DOTALL)
    file = SettingsFile(Path("defaults.toml"), shown, tomllib.loads(shown))
    assert set(Defaults(file).file.values) == set(ROWS)
