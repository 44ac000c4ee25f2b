"""What `playalong explain` tells of a drill: the one place of the tests that asks it."""

from __future__ import annotations

import json
import tempfile
from contextlib import redirect_stdout
from io import StringIO
from pathlib import Path
from typing import Any

from typer.main import get_command

from playalong.cli import app

COMMANDS = get_command(app)  # made once: that takes longer than to explain a drill


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
        out = StringIO()
        with redirect_stdout(out):
            status = COMMANDS.main(["explain", str(file), *words], standalone_mode=False)
    assert not status, out.getvalue()
    return out.getvalue()
