"""What `playalong explain` tells of a drill: the one place of the tests that asks it."""

from __future__ import annotations

import json
import tempfile
from pathlib import Path
from typing import Any

from typer.testing import CliRunner

from playalong.cli import app


def drill_text(bar: str, *settings: str, instrument: str = "violin") -> str:
    """A drill in TOML: title, instrument and bar, and further settings a line each."""
    head = ('title = "Try"', f'instrument = "{instrument}"', f'bar = "{bar}"')
    return "\n".join((*head, *settings))


def told(text: str, *words: str) -> list[dict[str, Any]]:
    """The data of every key and string; `words` stand on the command line."""
    found: list[dict[str, Any]] = json.loads(printed(text, "--json", *words))
    return found


def printed(text: str, *words: str) -> str:
    """What the command prints. Raises what is wrong with the drill."""
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder, "drill.toml")
        file.write_text(text, encoding="utf-8")
        done = CliRunner().invoke(app, ["explain", str(file), *words], catch_exceptions=False)
    assert done.exit_code == 0, done.output
    return done.stdout
