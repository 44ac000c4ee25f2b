"""How much the tests notice: python tests/bench/mutations.py [FLOOR ...]

Each row of mutations.toml is a small change of meaning: a text that stands once in a source file,
and what it becomes. It is made in a copy of the tree, the tests most likely to see it run there,
and the row is caught where one of them fails. The copy is whole again before the next row. A row
whose text no longer stands in the source, once and only once, is told and not counted.
"""

from __future__ import annotations

import argparse
import os
import shutil
import subprocess
import sys
import tempfile
import time
import tomllib
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).parents[2]
ROWS = Path(__file__).with_suffix(".toml")
LIMIT_SECONDS = 900  # a change that runs for ever is seen by whoever waits
NOT_COPIED = (".git", ".venv*", "__pycache__", ".*_cache", ".hypothesis", "dist")
FAILED = (1, 2)  # pytest's status: a test failed, or the change kept them from being collected


@dataclass(frozen=True)
class Row:
    """One change of meaning, and the tests most likely to see it."""

    floor: str
    number: int  # within its floor, from 1
    file: str
    before: str
    after: str
    tests: tuple[str, ...]

    @property
    def name(self) -> str:
        return f"{self.floor} {self.number}"

    @property
    def what(self) -> str:
        return f"{self.file}: {self.before.strip()} -> {self.after.strip() or 'nothing'}"

    def fault(self, tree: Path) -> str:
        """What keeps the row from being made in a tree; empty where nothing does."""
        path = tree / self.file
        if not path.is_file():
            return f"there is no {self.file}"
        times = path.read_text(encoding="utf-8").count(self.before)
        if times != 1:
            return f"its text stands {times} times in {self.file}"
        missing = [test for test in self.tests if not (tree / test).exists()]
        return f"there is no {missing[0]}" if missing else ""


def read_rows(text: str) -> tuple[Row, ...]:
    """Every row of the table, floor by floor."""
    return tuple(
        Row(floor, number, row["file"], row["before"], row["after"], tuple(row["tests"].split()))
        for floor, rows in tomllib.loads(text).items()
        for number, row in enumerate(rows, 1)
    )


@contextmanager
def changed(tree: Path, row: Row) -> Iterator[None]:
    """The tree with a row's change made, as long as it lasts."""
    path = tree / row.file
    whole = path.read_text(encoding="utf-8")
    path.write_text(whole.replace(row.before, row.after), encoding="utf-8")
    try:
        yield
    finally:
        path.write_text(whole, encoding="utf-8")


def tests_fail(tree: Path, tests: Sequence[str], limit_seconds: float | None) -> bool:
    """Whether a test fails in the tree, or comes to no end."""
    environment = os.environ | {"PYTHONPATH": str(tree), "PYTHONDONTWRITEBYTECODE": "1"}
    command = [sys.executable, "-m", "pytest", "-x", "-q", "-p", "no:cacheprovider", *tests]
    try:
        done = subprocess.run(
            command, cwd=tree, env=environment, capture_output=True, timeout=limit_seconds
        )
    except subprocess.TimeoutExpired:
        return True
    if done.returncode not in (0, *FAILED):
        raise RuntimeError(f"pytest could not run {' '.join(tests)}:\n{done.stdout.decode()}")
    return done.returncode in FAILED


def survivors(rows: Sequence[Row], tree: Path) -> list[Row]:
    """The rows that no related test sees, each told as it is done."""
    found = []
    for row in rows:
        began = time.monotonic()
        with changed(tree, row):
            caught = tests_fail(tree, row.tests, LIMIT_SECONDS)
        word, seconds = "caught" if caught else "SURVIVED", time.monotonic() - began
        print(f"{row.name:<14} {word:<9} {seconds:4.0f} s  {row.what}", flush=True)
        found += [] if caught else [row]
    return found


def chosen(rows: Sequence[Row], names: Sequence[str]) -> list[Row]:
    """The rows of some floors, or single ones like `music-3`; all where none is named."""
    return [
        row
        for row in rows
        if not names or {row.floor, row.name.replace(" ", "-")}.intersection(names)
    ]


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("names", nargs="*", metavar="FLOOR", help="a floor, or a row like music-3")
    parser.add_argument("--trust", action="store_true", help="the tests pass without a change")
    parser.add_argument("--check", action="store_true", help="only tell the rows that do not match")
    asked = parser.parse_args()
    rows = chosen(read_rows(ROWS.read_text(encoding="utf-8")), asked.names)
    faults = {row: fault for row in rows if (fault := row.fault(ROOT))}
    for row, fault in faults.items():
        print(f"{row.name:<14} NO MATCH  {fault}: {row.before.strip()}")
    sound = [row for row in rows if row not in faults]
    if asked.check or not sound:
        sys.exit(bool(faults))
    with tempfile.TemporaryDirectory(prefix="mutations-") as folder:
        tree = Path(folder) / "tree"
        shutil.copytree(ROOT, tree, ignore=shutil.ignore_patterns(*NOT_COPIED))
        related = sorted({test for row in sound for test in row.tests})
        if not asked.trust and tests_fail(tree, related, None):
            sys.exit("the related tests fail without any change; put that right first")
        left = survivors(sound, tree)
    caught = len(sound) - len(left)
    print(f"{caught} of {len(sound)} changes caught, {100 * caught / len(sound):.0f} %")
    if faults:
        print(f"{len(faults)} rows do not match the source and were not counted")


if __name__ == "__main__":
    main()
