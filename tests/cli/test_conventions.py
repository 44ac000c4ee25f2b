"""What people expect of any program at the command line, and of any package."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

import playalong

ROOT = Path(__file__).parents[2]
PROGRAM = f"#!{sys.executable}\nfrom playalong.cli import main\nmain()\n"


@pytest.fixture
def program(tmp_path: Path) -> Path:
    """The program as an installation leaves it, under its own name."""
    path = tmp_path / "bin/playalong"
    path.parent.mkdir()
    path.write_text(PROGRAM, encoding="utf-8")
    path.chmod(0o755)
    return path


def test_the_program_tells_its_version(program: Path) -> None:
    told = subprocess.run([program, "--version"], capture_output=True, text=True, check=True)
    assert told.stdout == f"playalong {playalong.__version__}\n"


def test_the_version_stands_in_one_place() -> None:
    pyproject = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    assert pyproject["project"]["dynamic"] == ["version"]
    assert pyproject["tool"]["hatch"]["version"]["path"] == "playalong/__init__.py"


def test_the_package_says_that_it_is_typed() -> None:
    assert (Path(playalong.__file__).parent / "py.typed").is_file()


@pytest.mark.skipif(shutil.which("bash") is None, reason="bash is not here")
@pytest.mark.parametrize(
    ("words", "completed"),
    [
        (("ex",), ["explain"]),
        (("make", "drill.toml", "--lad"), ["--ladder"]),
        (("make", "drill.toml", "--format", "fl"), ["flac"]),
    ],
    ids=" ".join,
)
def test_bash_completes_commands_options_and_choices(
    program: Path, words: tuple[str, ...], completed: list[str]
) -> None:
    script = (
        'eval "$(_PLAYALONG_COMPLETE=source_bash playalong)"\n'
        f"COMP_WORDS=(playalong {' '.join(words)}); COMP_CWORD={len(words)}\n"
        "complete -p playalong | grep -q _playalong_completion && _playalong_completion playalong\n"
        'printf "%s\\n" "${COMPREPLY[@]}"\n'
    )
    path = os.pathsep.join((str(program.parent), os.environ["PATH"]))
    told = subprocess.run(
        ["bash", "--norc", "-c", script],
        capture_output=True,
        text=True,
        check=True,
        env={**os.environ, "PATH": path},
    )
    assert told.stdout.split() == completed, told.stderr
