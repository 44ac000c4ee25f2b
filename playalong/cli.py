"""The command line: words for the person, no music."""

from __future__ import annotations

import json
import sys
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from playalong.errors import PlayalongError

if TYPE_CHECKING:
    from playalong.build.make import Made
    from playalong.build.plan import Options
    from playalong.drill.model import Drill

FAULT = 2  # exit status for anything the person can put right
INTERRUPTED = 130

app = typer.Typer(
    help="Play-along tracks for shifting drills: a short drill file becomes tempo-graded MIDI "
    "and audio with guide, click, tonic drone and the slide of each shift left audible.",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
)


class AudioFormatName(StrEnum):
    mp3 = "mp3"
    wav = "wav"
    flac = "flac"
    ogg = "ogg"
    opus = "opus"


DrillFile = Annotated[Path, typer.Argument(metavar="DRILL", help="A drill file (.toml).")]
Keys = Annotated[
    list[str] | None, typer.Option("--key", help='Key, instead of the file\'s: "Bb major".')
]
Strings = Annotated[list[str] | None, typer.Option("--string", help="String: D.")]
Stages = Annotated[list[str] | None, typer.Option("--stage", help="Stage: listen.")]
Start = Annotated[int | None, typer.Option("--start", help="First tempo, beats a minute.")]
Goal = Annotated[int | None, typer.Option("--goal", help="Last tempo, beats a minute.")]
Positions = Annotated[
    str | None, typer.Option("--positions", help="The pupil's reach, like 1-4.", metavar="LOW-HIGH")
]
SkipUnplayable = Annotated[
    bool,
    typer.Option("--skip-unplayable", help="Leave out keys and strings that cannot be played."),
]
Quiet = Annotated[bool, typer.Option("--quiet", "-q", help="Say nothing unless it fails.")]
AsJson = Annotated[bool, typer.Option("--json", help="Print data for programs.")]


@app.command()
def new(
    path: Annotated[Path, typer.Argument(metavar="DRILL", help="Where to write it.")] = Path(
        "drill.toml"
    ),
    force: Annotated[bool, typer.Option("--force", help="Replace a file that is there.")] = False,
) -> None:
    """Write a commented starter drill that works as it is."""
    from playalong.drill.starter import STARTER
    from playalong.output.files import write_text

    if path.is_dir():
        raise PlayalongError(f"{path} is a folder; name a file, like {path / 'drill.toml'}")
    if path.exists() and not force:
        raise PlayalongError(
            f"{path} is there already; take another name, or --force to replace it"
        )
    write_text(path, STARTER)
    typer.echo(f"{path} is written. Next: playalong explain {path}, then playalong make {path}")


@app.command()
def explain(
    drill: DrillFile,
    keys: Keys = None,
    strings: Strings = None,
    positions: Positions = None,
    skip_unplayable: SkipUnplayable = False,
    as_json: AsJson = False,
) -> None:
    """Tell what the drill asks of the hand: notes, fingers, steps, shifts, travel in mm."""
    from playalong.output.explain import explain as explained
    from playalong.output.explain import explanation_text
    from playalong.track.heads import UnplayableError
    from playalong.track.write import build_score

    loaded = _load(drill, keys=keys, strings=strings)
    reach = _reach(positions)
    told: list[dict[str, Any]] = []
    for key in loaded.keys:
        for string in loaded.strings or (None,):
            try:
                told.append(explained(build_score(loaded, key, string, positions=reach)))
            except UnplayableError as error:
                if not skip_unplayable:
                    raise
                _note(f"left out: {key}{f' on the {string} string' if string else ''}: {error}")
    if as_json:
        typer.echo(json.dumps(told, ensure_ascii=False, indent=1))
    else:
        typer.echo("\n".join(explanation_text(each) for each in told), nl=False)


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
        AudioFormatName, typer.Option("--format", help="Kind of audio file.")
    ] = AudioFormatName.mp3,
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
    jobs: Annotated[
        int | None, typer.Option("--jobs", min=1, help="Workers; all cores if left out.")
    ] = None,
    quiet: Quiet = False,
    as_json: AsJson = False,
) -> None:
    """Make the tracks: MIDI, audio and timelines for every key, string, tempo and stage."""
    from playalong.build.plan import Options
    from playalong.output.names import safe_name
    from playalong.track.bankload import own_bank

    loaded = _load(drill, keys=keys, strings=strings, stages=stages, start=start, goal=goal)
    options = Options(
        bank=soundfont or own_bank(),
        format=format.value,
        bitrate_kbps=bitrate,
        stems=stems,
        split=split,
        positions=_reach(positions),
        skip_unplayable=skip_unplayable,
        sessions=session,
        whole_ladder=ladder,
    )
    if soundfont and not quiet:
        _tell_truth(soundfont, loaded)
    folder = out or Path(safe_name(loaded.title))
    _report(_make(loaded, folder, options, jobs, quiet or as_json), quiet=quiet, as_json=as_json)


@app.command()
def demo(
    out: Annotated[Path, typer.Option("--out", "-o", help="Folder to fill.")] = Path(
        "playalong-demo"
    ),
    quiet: Quiet = False,
    as_json: AsJson = False,
) -> None:
    """Make a short drill from the examples, and say what to open."""
    from playalong.build.plan import Options
    from playalong.demo import DEMO_DRILL, demo_folder
    from playalong.drill.load import load_drill
    from playalong.track.bankload import own_bank

    loaded = load_drill(demo_folder() / DEMO_DRILL)
    made = _make(loaded, out, Options(bank=own_bank()), None, quiet or as_json)
    _report(made, quiet=quiet, as_json=as_json)
    if not quiet and not as_json:
        first, *_ = made.manifest.tracks
        typer.echo(f"Listen first:   {out / first.audio}")
        if made.manifest.sessions:
            typer.echo(f"Then hands-free: {out / made.manifest.sessions[0].audio}")
        typer.echo(f"Read:           {out / 'read-me-first.txt'}")
        typer.echo(f"More drills:    {demo_folder()}")


@app.command()
def bank(
    soundfont: Annotated[Path, typer.Argument(metavar="SOUNDFONT", help="A SoundFont (.sf2).")],
    instrument: Annotated[
        str, typer.Option("--instrument", help="Whose voice to measure.")
    ] = "viola",
) -> None:
    """Measure how true to pitch a SoundFont's voice is."""
    from playalong.music.instrument import find_instrument
    from playalong.track.bankcheck import measure_bank

    typer.echo(measure_bank(soundfont, find_instrument(instrument).program).verdict)


def _load(path: Path, **words: Any) -> Drill:
    """The drill with the command line's words in place of the file's."""
    from playalong.drill.load import load_drill

    names = {"start": "tempo.start", "goal": "tempo.goal"}
    given = {names.get(word, word): value for word, value in words.items() if value}
    return load_drill(path, given)


def _reach(positions: str | None) -> tuple[int, int] | None:
    if positions is None:
        return None
    low, dash, high = positions.partition("-")
    if not (low.isdecimal() and (high.isdecimal() or not dash)):
        raise PlayalongError(f'--positions: "{positions}" is not a reach like 1-4')
    reach = int(low), int(high or low)
    if reach[0] > reach[1]:
        raise PlayalongError(
            f'--positions: "{positions}" is upside down; did you mean "{high}-{low}"?'
        )
    return reach


def _make(drill: Drill, out: Path, options: Options, jobs: int | None, silent: bool) -> Made:
    from playalong.build.make import make as build

    if silent:
        return build(drill, out, options, jobs=jobs)
    from playalong.progress import Progress

    with Progress() as progress:
        return build(drill, out, options, jobs=jobs, started=progress.started, watch=progress.watch)


def _report(made: Made, *, quiet: bool, as_json: bool) -> None:
    plan, tracks = made.plan, made.manifest.tracks
    if as_json:
        told = {
            "out": str(made.out),
            "warnings": list(plan.warnings),
            "skipped": list(plan.skipped),
            "left_out": list(plan.left_out),
            **made.manifest.data(),
        }
        typer.echo(json.dumps(told, ensure_ascii=False, indent=1))
        return
    for kind, lines in (
        ("warning", plan.warnings),
        ("skipped", plan.skipped),
        ("left out", plan.left_out),
    ):
        for line in lines:
            if not quiet or kind != "warning":
                _note(f"{kind}: {line}")
    if not quiet:
        minutes = sum(track.seconds for track in tracks) / 60
        typer.echo(f"{len(tracks)} tracks, {minutes:.0f} minutes, in {made.out}")


def _tell_truth(soundfont: Path, drill: Drill) -> None:
    from playalong.track.bankcheck import measure_bank

    _note(measure_bank(soundfont, drill.instrument.program).verdict)


def _note(text: str) -> None:
    typer.echo(text, err=True)


def main() -> None:
    """Run the command; what the person can put right is one clear message and exit status 2."""
    try:
        app()
    except PlayalongError as error:
        _note(f"playalong: {error}")
        sys.exit(FAULT)
    except KeyboardInterrupt:
        _note("playalong: stopped; every file that stands in the folder is whole")
        sys.exit(INTERRUPTED)
    except BrokenPipeError:
        sys.exit(0)


if __name__ == "__main__":
    main()
