"""Commands about a drill and its sounds that make no tracks: new, explain, schema, bank."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Annotated

import typer

from playalong.cli.shared import (
    AsJson,
    DrillFile,
    Keys,
    Positions,
    SkipUnplayable,
    Strings,
    app,
    columns,
    load,
    note,
    variation,
)
from playalong.errors import PlayalongError


@app.command()
def new(
    path: Annotated[Path, typer.Argument(metavar="DRILL", help="Where to write it.")] = Path(
        "drill.toml"
    ),
    instrument: Annotated[
        str | None,
        typer.Option("--instrument", help="Whose drill; your default's, or the viola's."),
    ] = None,
    force: Annotated[bool, typer.Option("--force", help="Replace a file that is there.")] = False,
) -> None:
    """Write a commented starter drill that works as it is."""
    from playalong.cli.defaults import defaults
    from playalong.drill.starter import DEFAULT_INSTRUMENT, starter
    from playalong.folder.files import write_text

    if path.is_dir():
        raise PlayalongError(f"{path} is a folder; name a file, like {path / 'drill.toml'}")
    if path.exists() and not force:
        raise PlayalongError(
            f"{path} is there already; take another name, or --force to replace it"
        )
    named = instrument or defaults().written("instrument") or DEFAULT_INSTRUMENT
    try:
        text = starter(named)
    except (ValueError, PlayalongError) as error:
        raise PlayalongError(f"--instrument: {error}") from None
    write_text(path, text)
    typer.echo(f"{path} is written. Next: playalong explain {path}, then playalong make {path}")


def _tell_settings(asked: bool) -> None:
    from playalong.drill.reference import settings_list

    if asked:
        typer.echo(columns(list(settings_list())), nl=False)
        raise typer.Exit


@app.command()
def explain(
    drill: DrillFile,
    keys: Keys = None,
    strings: Strings = None,
    positions: Positions = None,
    skip_unplayable: SkipUnplayable = False,
    settings: Annotated[
        bool,
        typer.Option(
            "--settings",
            is_eager=True,
            callback=_tell_settings,
            help="List every setting that a drill file may have, and exit.",
        ),
    ] = False,
    brief: Annotated[
        bool, typer.Option("--brief", help="A line for each bar, with its shifts; and warnings.")
    ] = False,
    as_json: AsJson = False,
) -> None:
    """Tell what the drill asks of the hand: notes, fingers, steps, shifts, travel in mm."""
    from playalong.score.explanation import explain as explained
    from playalong.score.explanation_text import brief_text, explanation_text
    from playalong.score.playable import playable_scores

    if brief and as_json:
        raise PlayalongError("--brief is text for reading; leave it out to have --json")
    loaded = load(drill, variation(keys=keys, strings=strings, positions=positions))
    playable = playable_scores(loaded, skip_unplayable=skip_unplayable)
    for line in playable.skipped:
        note(f"skipped: {line}")
    if as_json:
        told = [explained(score) for score in playable.scores]
        typer.echo(json.dumps(told, ensure_ascii=False, indent=1))
    else:
        text = brief_text if brief else explanation_text
        typer.echo("\n".join(map(text, playable.scores)), nl=False)


@app.command()
def schema() -> None:
    """Print the JSON Schema of a drill file, by which editors complete and check it."""
    from playalong.drill.reference import json_schema

    typer.echo(json.dumps(json_schema(), indent=1))


@app.command()
def bank(
    soundfont: Annotated[Path, typer.Argument(metavar="SOUNDFONT", help="A SoundFont (.sf2).")],
    instrument: Annotated[
        str, typer.Option("--instrument", help="Whose voice to measure.")
    ] = "viola",
) -> None:
    """Measure how true to pitch a SoundFont's voice is."""
    from playalong.instrument.catalogue import find_instrument
    from playalong.sound.bankcheck import measure_bank

    typer.echo(measure_bank(soundfont, find_instrument(instrument).program).verdict)
