"""Commands that make tracks: make, demo."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

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
    Stages,
    Start,
    Strings,
    app,
    count,
    load,
    note,
    tell_of_folder,
    variation,
)
from playalong.folder.names import PAGE_FILE, READ_ME_FILE, AudioFormat

if TYPE_CHECKING:
    from playalong.drill.model import Drill
    from playalong.making.make import Built
    from playalong.making.plan import Options


@app.command()
def make(
    drill: DrillFile,
    out: Annotated[
        Path | None,
        typer.Option("--out", "-o", help="Folder to fill; the title's name if left out."),
    ] = None,
    keys: Keys = None,
    strings: Strings = None,
    stages: Stages = None,
    start: Start = None,
    goal: Goal = None,
    positions: Positions = None,
    skip_unplayable: SkipUnplayable = False,
    format: Annotated[
        AudioFormat | None,
        typer.Option("--format", help="Kind of audio file; your default's, or mp3."),
    ] = None,
    bitrate: Annotated[
        int | None, typer.Option("--bitrate", help="kbit/s, for mp3 and opus.")
    ] = None,
    stems: Annotated[
        bool, typer.Option("--stems", help="Guide, drone and click as files of their own too.")
    ] = False,
    split: Annotated[
        bool, typer.Option("--split", help="Guide in the left ear, drone and click in the right.")
    ] = False,
    soundfont: Annotated[
        Path | None, typer.Option("--soundfont", help="A SoundFont of your own (.sf2).")
    ] = None,
    session: Annotated[
        bool, typer.Option("--session/--no-session", help="A hands-free file with rests.")
    ] = True,
    ladder: Annotated[
        bool, typer.Option("--ladder", help="The session climbs through every tempo.")
    ] = False,
    sheet: Annotated[
        bool, typer.Option("--sheet/--no-sheet", help="The drill on paper, as PDF and MusicXML.")
    ] = True,
    paper: PaperOption = None,
    page: Annotated[
        bool, typer.Option("--page/--no-page", help=f"The page to practise from, {PAGE_FILE}.")
    ] = True,
    one_file: Annotated[
        bool, typer.Option("--one-file", help="The page holds the sound inside itself.")
    ] = False,
    jobs: Annotated[
        int | None, typer.Option("--jobs", min=1, help="Workers; all cores if left out.")
    ] = None,
    verify: Annotated[
        bool, typer.Option("--verify", help="Read every file that stands already again.")
    ] = False,
    quiet: Quiet = False,
    as_json: AsJson = False,
) -> None:
    """Make the tracks: MIDI, audio and timelines for every key, string, tempo and stage."""
    from playalong.cli.defaults import defaults
    from playalong.folder.names import safe_name
    from playalong.making.plan import Options
    from playalong.shipped import own_bank

    varied = variation(
        keys=keys, strings=strings, stages=stages, start=start, goal=goal, positions=positions
    )
    loaded = load(drill, varied)
    options = Options(
        bank=soundfont or own_bank(),
        format=format or defaults().format,
        bitrate_kbps=bitrate,
        stems=stems,
        split=split,
        skip_unplayable=skip_unplayable,
        sessions=session,
        whole_ladder=ladder,
        sheet=sheet,
        paper=paper or defaults().paper,
        page=page,
        one_file=one_file,
    )
    if soundfont and not quiet:
        _tell_truth(soundfont, loaded)
    folder = out or Path(safe_name(loaded.title))
    narrowed = varied.narrows or not (session and sheet and page)
    made = _make(loaded, folder, options, quiet or as_json, jobs, verify, narrowed)
    _report(made, quiet=quiet, as_json=as_json)


@app.command()
def demo(
    out: Annotated[Path, typer.Option("--out", "-o", help="Folder to fill.")] = Path(
        "playalong-demo"
    ),
    quiet: Quiet = False,
    as_json: AsJson = False,
) -> None:
    """Make a short drill from the examples, and say what to open."""
    from playalong.drill.load import load
    from playalong.making.plan import Options
    from playalong.shipped import DEMO_DRILL, demo_folder, own_bank

    loaded = load(demo_folder() / DEMO_DRILL)
    made = _make(loaded, out, Options(bank=own_bank()), quiet or as_json)
    _report(made, quiet=quiet, as_json=as_json)
    if not quiet and not as_json:
        first, *_ = made.manifest.tracks
        typer.echo(f"Listen first:    {out / first.audio}")
        if made.manifest.sessions:
            typer.echo(f"Then hands-free: {out / made.manifest.sessions[0].audio}")
        typer.echo(f"Print:           {out / made.manifest.sheet['pdf']}")
        typer.echo(f"Read:            {out / READ_ME_FILE}")
        typer.echo(f"More drills:     {demo_folder()}")


def _make(
    drill: Drill,
    out: Path,
    options: Options,
    silent: bool,
    jobs: int | None = None,
    verify: bool = False,
    narrowed: bool = False,
) -> Built:
    from playalong.making.make import make as build

    if silent:
        return build(drill, out, options, jobs=jobs, verify=verify, narrowed=narrowed)
    from playalong.cli.progress import Progress

    with Progress() as progress:
        return build(
            drill,
            out,
            options,
            jobs=jobs,
            verify=verify,
            narrowed=narrowed,
            started=progress.started,
            watch=progress.watch,
        )


def _report(made: Built, *, quiet: bool, as_json: bool) -> None:
    plan, tracks = made.plan, made.manifest.tracks
    tell_of_folder(made.changed, made.remarks)
    if as_json:
        told = {
            "out": str(made.out),
            "warnings": list(plan.warnings),
            "skipped": list(plan.skipped),
            "left_out": list(plan.left_out),
            "removed": list(made.cleared.removed),
            "changed": list(made.changed),
            "remarks": list(made.remarks),
            "left_alone": list(made.cleared.left_alone),
            "fresh": made.fresh,
            **made.manifest.data(),
        }
        typer.echo(json.dumps(told, ensure_ascii=False, indent=1))
        return
    for kind, lines in (
        ("warning", plan.warnings),
        ("skipped", plan.skipped),
        ("left out", plan.left_out),
        ("no longer wanted, but changed by somebody, so left alone", made.cleared.left_alone),
    ):
        for line in lines:
            if not quiet or kind != "warning":
                note(f"{kind}: {line}")
    if not quiet:
        seconds = sum(track.seconds for track in tracks)
        if made.cleared.removed:
            gone = count(len(made.cleared.removed), "file")
            note(f"{gone} of an earlier build that the drill no longer asks for removed")
        stood = "" if made.fresh else "; all of it stood already"
        typer.echo(f"{count(len(tracks), 'track')}, {_length(seconds)}, in {made.out}{stood}")
        if "page" in made.manifest.sheet and made.fresh:
            typer.echo(f"Practise from:   {made.out / made.manifest.sheet['page']}")


def _length(seconds: float) -> str:
    return (
        count(round(seconds / 60), "minute") if seconds >= 90 else count(round(seconds), "second")
    )


def _tell_truth(soundfont: Path, drill: Drill) -> None:
    from playalong.sound.bankcheck import measure_bank

    note(measure_bank(soundfont, drill.instrument.program).verdict)
