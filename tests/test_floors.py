"""The house has one direction: errors <- music <- drill <- track <- output <- build <- cli."""

import importlib.util
import subprocess
import sys
import tomllib
from pathlib import Path

ROOT = Path(__file__).parents[1]
CONTRACT = """\
[importlinter]
root_package = playalong

[importlinter:contract:floors]
name = One way
type = layers
layers =
    {layers}
"""


def test_nothing_imports_upward(tmp_path: Path) -> None:
    """The layers of pyproject.toml, those that exist, checked by import-linter."""
    config = tomllib.loads((ROOT / "pyproject.toml").read_text())["tool"]["importlinter"]
    (contract,) = config["contracts"]
    floors = [floor for floor in contract["layers"] if importlib.util.find_spec(floor)]
    assert floors[-4:] == [f"playalong.{name}" for name in ("track", "drill", "music", "errors")]
    file = tmp_path / "floors.ini"
    file.write_text(CONTRACT.format(layers="\n    ".join(floors)))
    lint = "import sys; from importlinter.cli import lint_imports as lint; "
    lint += "sys.exit(lint(sys.argv[1], no_cache=True))"
    command = [sys.executable, "-c", lint, file]
    ran = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False)
    assert ran.returncode == 0, ran.stdout + ran.stderr
    assert "1 kept, 0 broken" in ran.stdout
