"""sheet: the drill on paper."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Annotated

import typer

from playalong.cli.shared import (
    AsJson,
    DrillFile,
    Goal,
    Keys,
    PaperOption,
    Positions,
    Quiet,
    SkipUnplayable,
    Start,
    Strings,
    app,
    load,
    note,
    tell_of_folder,
    variation,
)


@app.command()
def sheet(
    drill: DrillFile,
    out: Annotated[
        Path | None,
        typer.Option("--out", "-o", help="Folder to fill; the title's name if left out."),
    ] = None,
    paper: PaperOption = None,
    keys: Keys = None,
    strings: Strings = None,
    start: Start = None,
    goal: Goal = None,
    positions: Positions = None,
    skip_unplayable: SkipUnplayable = False,
    quiet: Quiet = False,
    as_json: AsJson = False,
) -> None:
    """Print the drill: a PDF for the stand, MusicXML for notation programs, pictures."""
    from playalong.cli.defaults import defaults
    from playalong.folder.names import safe_name
    from playalong.making.paper import print_sheet
    from playalong.score.playable import playable_scores

    varied = variation(keys=keys, strings=strings, start=start, goal=goal, positions=positions)
    loaded = load(drill, varied)
    playable = playable_scores(loaded, skip_unplayable=skip_unplayable)
    for line in playable.skipped:
        note(f"skipped: {line}")
    folder = out or Path(safe_name(loaded.title))
    printed = print_sheet(loaded, playable.scores, folder, paper or defaults().paper)
    tell_of_folder(printed.changed, printed.remarks)
    files = printed.files
    if as_json:
        told = {"out": str(folder), "pages": files.page_count, "files": list(files.all)}
        told |= {"changed": list(printed.changed), "remarks": list(printed.remarks)}
        typer.echo(json.dumps(told, ensure_ascii=False, indent=1))
    elif not quiet:
        pages = "1 page" if files.page_count == 1 else f"{files.page_count} pages"
        typer.echo(f"{folder / str(files.pdf)}: {pages}, and {len(files.all) - 1} files beside it")
