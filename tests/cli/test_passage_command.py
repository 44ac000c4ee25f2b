"""`playalong passage` as a person runs it."""

from __future__ import annotations

from pathlib import Path
from subprocess import CompletedProcess

import program
import pytest

from playalong.shipped import demo_folder

WALTZ = demo_folder() / "evening-waltz.musicxml"
DEMO_DRILL = demo_folder() / "19-from-a-score.toml"


def run(*words: object, cwd: Path) -> CompletedProcess[str]:
    return program.run("passage", *words, cwd=cwd)


def test_the_demo_drill_is_what_the_command_writes(tmp_path: Path) -> None:
    told = run(WALTZ, "--shifts", "1", "-o", "out", cwd=tmp_path)
    assert (told.returncode, told.stderr) == (0, "")
    assert "22 notes in G major, 3/4; 5 fingers are the score's; 3 shifts." in told.stdout
    assert "shift 1: bar 42, F#5 (3) to E5 (4), exchange, ghost note D5, 46 mm" in told.stdout
    assert sorted(path.name for path in (tmp_path / "out").iterdir()) == [
        "passage.toml",
        "shift-1-alone.toml",
        "shift-1-growing.toml",
        "shift-1-in-rhythm.toml",
    ]
    written = (tmp_path / "out/passage.toml").read_text(encoding="utf-8")
    assert written == DEMO_DRILL.read_text(encoding="utf-8")


def test_options_reach_the_fingering_and_the_file(tmp_path: Path) -> None:
    words = ("--bars", "43-44", "--tempo", "60-84", "--key", "E minor", "--open", "avoid")
    told = run(WALTZ, *words, "--stay", "a", "--own-fingers", "-o", "out", "-q", cwd=tmp_path)
    assert (told.returncode, told.stdout, told.stderr) == (0, "", "")
    text = (tmp_path / "out/passage.toml").read_text(encoding="utf-8")
    assert 'keys       = ["E minor"]' in text
    assert "start = 60\ngoal  = 84" in text
    assert "E:" not in text
    assert "The score gives no fingers" in text


def test_the_list_tells_parts_bars_signatures_and_meters_and_writes_nothing(
    tmp_path: Path,
) -> None:
    told = run(WALTZ, "--list", cwd=tmp_path)
    assert told.stdout == (
        "Evening Waltz\npart        bars   signatures  meters\n1 Violin I  40-48  1 sharp     3/4\n"
    )
    assert not list(tmp_path.iterdir())


def test_nothing_is_replaced_unasked(tmp_path: Path) -> None:
    mine = tmp_path / "out/passage.toml"
    mine.parent.mkdir()
    mine.write_text("mine", encoding="utf-8")
    refused = run(WALTZ, "-o", "out", cwd=tmp_path)
    assert refused.returncode == 2
    assert "passage.toml is there already; take another folder with --out" in refused.stderr
    assert mine.read_text(encoding="utf-8") == "mine"
    assert len(list(mine.parent.iterdir())) == 1
    assert run(WALTZ, "-o", "out", "--force", cwd=tmp_path).returncode == 0
    assert 'title      = "Evening Waltz, Violin I, bars 40-48"' in mine.read_text(encoding="utf-8")


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (("--bars", "60"), '--bars: no bar is called "60"; they go from 40 to 48'),
        (("--key", "H major"), '--key: "H major" is not a key; did you mean "B major"?'),
        (("--tempo", "84-60"), '--tempo: "84-60" is not like 60 or 60-84'),
        (("--stay", "C"), '--stay: violin has no "C" string'),
        (("--instrument", "violn"), '--instrument: "violn" is not an instrument known here'),
        (("--lowest", "5", "--highest", "3"), "--lowest 5 lies above --highest 3"),
    ],
)
def test_what_is_asked_wrongly_is_named_by_its_option(
    words: tuple[str, ...], message: str, tmp_path: Path
) -> None:
    told = run(WALTZ, *words, cwd=tmp_path)
    assert (told.returncode, told.stdout) == (2, "")
    assert message in told.stderr
    assert not list(tmp_path.iterdir())


def test_a_hostile_score_leaves_one_sentence_and_nothing_written(tmp_path: Path) -> None:
    bomb = tmp_path / "bomb.musicxml"
    bomb.write_text('<!DOCTYPE a [<!ENTITY a "ha">]><a>&a;</a>', encoding="utf-8")
    told = run(bomb, cwd=tmp_path)
    assert told.returncode == 2
    assert told.stderr == (
        f"playalong: {bomb}: the score declares XML entities, which no notation program writes\n"
    )
    assert list(tmp_path.iterdir()) == [bomb]
