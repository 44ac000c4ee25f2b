"""What the gate runs is all there is."""

import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]


def test_every_test_file_is_collected_and_holds_tests(request: pytest.FixtureRequest) -> None:
    """Also in folders whose names pytest passes over of itself, as it does `build` and `dist`.

    A run of all tests has collected them already; a run of a few asks a process of its own.
    """
    standing = {path.relative_to(ROOT).as_posix() for path in ROOT.glob("tests/**/test_*.py")}
    here = {item.path.relative_to(ROOT).as_posix() for item in request.session.items}
    assert here == standing or files_that_pytest_collects() == standing


def files_that_pytest_collects() -> set[str]:
    collect = [sys.executable, "-m", "pytest", "--collect-only", "-q", "-p", "no:cacheprovider"]
    told = subprocess.run(collect, cwd=ROOT, capture_output=True, text=True, check=False)
    counts = [line.rsplit(": ", 1) for line in told.stdout.splitlines() if ".py: " in line]
    assert told.returncode == 0, told.stdout + told.stderr
    return {file for file, count in counts if int(count) > 0}


def test_every_mutation_that_is_kept_still_meets_its_source() -> None:
    """A row whose words have moved would try nothing (tests/bench/mutations.py)."""
    floors = tomllib.loads((ROOT / "tests/bench/mutations.toml").read_text(encoding="utf-8"))
    rows = [row for floor in floors.values() for row in floor]
    assert rows
    for row in rows:
        source = (ROOT / row["file"]).read_text(encoding="utf-8")
        assert source.count(row["before"]) == 1, row
