"""settings: a person's own files, and what they change."""

from __future__ import annotations

import json
from typing import Any

import typer

from playalong.cli.shared import AsJson, app, columns


@app.command()
def settings(as_json: AsJson = False) -> None:
    """Tell which settings files are read, and where each of your defaults comes from."""
    from playalong.cli.defaults import ROWS, defaults
    from playalong.drill.reference import toml
    from playalong.mail.settings import settings_path

    own = defaults()
    files = [
        {"path": str(path), "for": use, "is_there": path.is_file()}
        for path, use in ((own.file.path, "defaults"), (settings_path(), "mail --send"))
    ]
    told: list[dict[str, Any]] = [
        {"setting": name, "value": own.written(name), "line": own.file.line_of(name)}
        for name in ROWS
    ]
    if as_json:
        typer.echo(json.dumps({"files": files, "defaults": told}, ensure_ascii=False, indent=1))
        return
    for file in files:
        typer.echo(f"{file['path']} ({file['for']}){'' if file['is_there'] else ': not there'}")
    rows = [("setting", "value", "from", "what it is")]
    for each in told:
        value = "none" if each["value"] is None else toml(each["value"])
        line = "built in" if each["line"] is None else f"{own.file.path.name}, line {each['line']}"
        rows.append((each["setting"], value, line, ROWS[each["setting"]].help))
    typer.echo(f"\n{columns(rows)}", nl=False)
