"""Documentation that runs: what README and DEVELOPERS show is what the program does."""

from __future__ import annotations

import re
import sys
from pathlib import Path

import numpy as np
import pytest
import soundfile

from playalong.drill.load import parse
from playalong.drill.schema import SETTINGS
from playalong.performance.ladder import rungs
from playalong.performance.timing import timeline_of
from playalong.score.explanation_text import explanation_text
from playalong.score.writing import write

ROOT = Path(__file__).parents[2]
README = (ROOT / "README.md").read_text(encoding="utf-8")


def fenced(language: str) -> list[str]:
    return re.findall(rf"```{language}\n(.*?)```", README, re.DOTALL)


def test_the_gate_runs_the_very_test_command_of_the_readme() -> None:
    commands = [block.strip() for block in fenced("sh") if "pytest" in block]
    assert len(commands) == 1
    assert commands[0] in (ROOT / ".ci/run").read_text(encoding="utf-8")


def test_the_test_command_installs_all_that_the_demos_does() -> None:
    """So it would run alone too on the machine where `.ci/fresh` runs one after the other."""
    lines = [block for block in fenced("sh") if "apt-get install" in block]
    demo, tests = (set(line.split(" && ")[1].split()) for line in lines)
    assert demo < tests


def test_the_readmes_drill_climbs_by_the_marks_that_it_tells() -> None:
    (drill,) = map(parse, fenced("toml"))
    listed = ", ".join(map(str, rungs(drill.tempo)))
    assert listed in " ".join(README.split())


def test_the_readmes_explanation_is_what_explain_prints() -> None:
    (drill,) = map(parse, fenced("toml"))
    printed = explanation_text(write(drill, drill.keys[0], "D"))
    (shown,) = [part for part in README.split("```") if part.startswith("\nbar 1")]
    assert shown.strip() in printed


@pytest.mark.parametrize("name", sorted(SETTINGS))
def test_the_readme_names_every_setting(name: str) -> None:
    table, _, last = name.rpartition(".")
    assert re.search(rf"`{last}|\b{last} += ", README)
    assert not table or f"[{table}]" in README


def test_the_readmes_picture_is_drawn_from_todays_timeline() -> None:
    sys.path.insert(0, str(ROOT / "demo/pictures"))
    try:
        import draw
    finally:
        sys.path.pop(0)
    assert draw.PICTURE.read_text(encoding="utf-8") == draw.draw()


def test_the_readmes_track_is_small_and_sounds_the_notes_of_its_picture() -> None:
    """Each longer note of the first pass, as the highest point of the spectrum around it: MP3 keeps
    it within 3 cents."""
    sys.path.insert(0, str(ROOT / "demo/sound"))
    try:
        import make_sound
    finally:
        sys.path.pop(0)
    assert f"]({make_sound.SOUND.relative_to(ROOT).as_posix()})" in README
    assert make_sound.SOUND.stat().st_size < 300_000
    sound, rate_hz = soundfile.read(make_sound.SOUND)
    told = timeline_of(make_sound.performance())
    assert len(sound) / rate_hz == pytest.approx(told.seconds, abs=0.1)
    first = [n for n in told.notes if n.pass_number == 1 and n.sounds]
    assert len(first) == 4
    for note in first:
        start = round((note.from_seconds + 0.2) * rate_hz)
        piece = sound[start : start + rate_hz // 2]
        size = 32 * len(piece)
        spectrum = np.abs(np.fft.rfft(piece * np.hanning(len(piece)), size))
        low, high = (round(note.hz * 2 ** (step / 24) * size / rate_hz) for step in (-1, 1))
        peak = (low + int(np.argmax(spectrum[low:high]))) * rate_hz / size
        assert abs(1200 * np.log2(peak / note.hz)) < 3, note.pitch


def test_the_top_level_holds_only_what_is_agreed() -> None:
    agreed = {"README.md", "DEVELOPERS.md", "LICENSE", "pyproject.toml", "playalong", "soundfonts",
              "tests", "demo"}  # fmt: skip
    ignored = set((ROOT / ".gitignore").read_text(encoding="utf-8").replace("/\n", "\n").split())
    standing = {path.name for path in ROOT.iterdir() if not path.name.startswith(".")}
    assert standing - ignored <= agreed
