"""The house has one direction, from cli down to music, and siblings do not know each other."""

import subprocess
import sys
import tomllib
from pathlib import Path

ROOT = Path(__file__).parents[1]


def test_nothing_imports_upward_and_no_sibling_imports_another() -> None:
    """The layers of pyproject.toml, checked by import-linter."""
    lint = "import sys; from importlinter.cli import lint_imports as lint; "
    lint += "sys.exit(lint(no_cache=True))"
    ran = subprocess.run(
        [sys.executable, "-c", lint], cwd=ROOT, capture_output=True, text=True, check=False
    )
    assert ran.returncode == 0, ran.stdout + ran.stderr
    assert "1 kept, 0 broken" in ran.stdout


def test_every_floor_is_in_the_contract() -> None:
    config = tomllib.loads((ROOT / "pyproject.toml").read_text())["tool"]["importlinter"]
    (contract,) = config["contracts"]
    layers = [layer.strip() for row in contract["layers"] for layer in row.split("|")]
    standing = {
        f"playalong.{path.stem}"
        for path in (ROOT / "playalong").iterdir()
        if (path / "__init__.py").is_file() or path.suffix == ".py"
    }
    assert set(layers) == standing - {"playalong.__init__"}
