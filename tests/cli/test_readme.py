"""Documentation that runs: what README and DEVELOPERS show is what the program does."""

from __future__ import annotations

import re
import sys
from pathlib import Path

import pytest

from playalong.drill.load import parse
from playalong.drill.schema import SETTINGS
from playalong.performance.ladder import rungs
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


def test_the_top_level_holds_only_what_is_agreed() -> None:
    agreed = {"README.md", "DEVELOPERS.md", "LICENSE", "pyproject.toml", "playalong", "soundfonts",
              "tests", "demo"}  # fmt: skip
    ignored = set((ROOT / ".gitignore").read_text(encoding="utf-8").replace("/\n", "\n").split())
    standing = {path.name for path in ROOT.iterdir() if not path.name.startswith(".")}
    assert standing - ignored <= agreed
