"""What --json prints is what DEVELOPERS.md says that it prints, field by field."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from program import run

DEVELOPERS = (Path(__file__).parents[2] / "DEVELOPERS.md").read_text(encoding="utf-8")
SECTION = DEVELOPERS.partition("\n## What --json prints\n")[2].partition("\n## ")[0]
DRILL = """title = "Shapes"
instrument = "violin"
strings = ["A"]
bar = "p1: 1 p3: 1 3 2"
note = "quarter"
climb = [1, 8]
stages = ["listen"]
tempo.start = 240
click.count_in = 1
session.rest = 0
"""
COMMANDS = {  # the heading -> what is run; each may need what those before it left
    "explain": ("explain", "drill.toml"),
    "make, demo": ("make", "drill.toml", "-o", "out", "--stems"),
    "sheet": ("sheet", "drill.toml", "-o", "paper"),
    "mail": ("mail", "out", "--to", "a@example.org"),
    "mail --pupils": ("mail", "drill.toml", "--pupils", "pupils.csv"),
    "settings": ("settings",),
}


def documented(heading: str) -> set[str]:
    """The fields that the section's table under a heading names."""
    part = SECTION.partition(f"\n### {heading}\n")[2].partition("\n### ")[0]
    cells = [line.split("|")[1] for line in part.splitlines() if line.startswith("| `")]
    return {name for cell in cells for name in re.findall("`([^`]+)`", cell)}


def fields(value: Any, known: set[str], at: str = "") -> Iterator[str]:
    """Every field of what was printed, down to those that are told and not listed."""
    if at + "…" in known:
        yield at + "…"
    elif at + "[]…" in known:
        yield at + "[]…"
    elif isinstance(value, dict) and value:
        for name, each in value.items():
            yield from fields(each, known, f"{at}.{name}" if at else name)
    elif isinstance(value, list):
        yield f"{at}[]"
        for each in value:
            if isinstance(each, dict):
                yield from fields(each, known, f"{at}[]")
    else:
        yield at


def holds_others(name: str, known: set[str]) -> bool:
    """Whether a field is there for what it holds: an empty table, a list of tables, or null."""
    return any(other.startswith(f"{name}.") for other in known)


@pytest.fixture(scope="module")
def printed(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Any]:
    folder = tmp_path_factory.mktemp("shapes")
    (folder / "drill.toml").write_text(DRILL, encoding="utf-8")
    (folder / "pupils.csv").write_text("address\na@example.org\n", encoding="utf-8")
    told = {}
    for heading, words in COMMANDS.items():
        ran = run(*words, "--json", cwd=folder)
        assert ran.returncode == 0, ran.stderr
        told[heading] = json.loads(ran.stdout)
    return told


@pytest.mark.parametrize("heading", COMMANDS)
def test_every_field_is_told_and_what_is_told_is_there(
    printed: dict[str, Any], heading: str
) -> None:
    known, value = documented(heading), printed[heading]
    entries = value if isinstance(value, list) else [value]
    shown = {name for entry in entries for name in fields(entry, known)}
    assert known <= shown
    assert {name for name in shown - known if not holds_others(name, known)} == set()


def test_no_command_with_json_is_left_out() -> None:
    from playalong.cli import app

    with_json = {
        command.callback.__name__
        for command in app.registered_commands
        if command.callback and "as_json" in command.callback.__annotations__
    }
    told = re.sub(r" --\w+|,", "", " ".join(re.findall(r"\n### (.+)", SECTION)))
    assert with_json == set(told.split())
