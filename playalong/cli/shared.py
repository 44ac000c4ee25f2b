"""What every command shares: the app, its options, and how it speaks."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer
from typer.core import TyperGroup

from playalong import __version__
from playalong.errors import PlayalongError, shown

if TYPE_CHECKING:
    from playalong.drill.model import Drill
    from playalong.drill.variation import Variation

COMMANDS = (  # in the order in which they are needed
    *("new", "explain", "make", "demo", "sheet", "take", "mail", "passage"),
    *("settings", "bank", "schema"),
)


class InOrder(TyperGroup):
    """The commands as --help lists them."""

    def list_commands(self, ctx: Any) -> list[str]:
        return sorted(super().list_commands(ctx), key=COMMANDS.index)


app = typer.Typer(
    cls=InOrder,
    help="Play-along tracks for shifting drills: a short drill file becomes tempo-graded MIDI "
    "and audio with guide, click, tonic drone and the slide of each shift left audible.",
    no_args_is_help=True,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
)


def _tell_version(asked: bool) -> None:
    if asked:
        typer.echo(f"playalong {__version__}")
        raise typer.Exit


@app.callback()
def before_any_command(
    version: Annotated[
        bool,
        typer.Option(
            "--version", is_eager=True, callback=_tell_version, help="Print the version and exit."
        ),
    ] = False,
) -> None:
    """The options that stand before a command's name."""


class PaperName(StrEnum):
    a4 = "a4"
    letter = "letter"


DrillFile = Annotated[Path, typer.Argument(metavar="DRILL", help="A drill file (.toml).")]
Keys = Annotated[
    list[str] | None,
    typer.Option("--key", help='Key, in place of the drill\'s: "Bb major"; may be said again.'),
]
Strings = Annotated[
    list[str] | None,
    typer.Option("--string", help="String, in place of the drill's: D; may be said again."),
]
Stages = Annotated[
    list[str] | None,
    typer.Option(
        "--stage",
        help="Stage, in place of the drill's: listen, answer, check, alone or one of its own; "
        "may be said again.",
    ),
]
Start = Annotated[int | None, typer.Option("--start", help="First tempo, beats a minute.")]
Goal = Annotated[int | None, typer.Option("--goal", help="Last tempo, beats a minute.")]
Positions = Annotated[
    str | None, typer.Option("--positions", help="The pupil's reach, like 1-4.", metavar="LOW-HIGH")
]
SkipUnplayable = Annotated[
    bool,
    typer.Option("--skip-unplayable", help="Leave out keys and strings that cannot be played."),
]
PaperOption = Annotated[
    PaperName | None,
    typer.Option("--paper", help="Paper to print on; your default's, or a4.", case_sensitive=False),
]
Quiet = Annotated[bool, typer.Option("--quiet", "-q", help="Say nothing unless it fails.")]
AsJson = Annotated[bool, typer.Option("--json", help="Print data for programs.")]


OPTIONS = {  # of settings that a variation can take from the command line
    "keys": "--key",
    "strings": "--string",
    "stages": "--stage",
    "tempo.start": "--start",
    "tempo.goal": "--goal",
    "positions": "--positions",
}


def variation(
    *,
    keys: list[str] | None = None,
    strings: list[str] | None = None,
    stages: list[str] | None = None,
    start: int | None = None,
    goal: int | None = None,
    positions: str | None = None,
) -> Variation:
    """What the command line asks for in place of the drill's own settings."""
    from playalong.drill.variation import Variation, parse_positions

    with option_errors():
        within = None if positions is None else parse_positions(positions)
    return Variation(
        tuple(keys or ()), tuple(strings or ()), tuple(stages or ()), start, goal, within
    )


def load(path: Path, variation: Variation | None = None) -> Drill:
    """The drill file over the person's defaults, varied; what is wrong with the variation names
    its option."""
    from playalong.cli.defaults import defaults
    from playalong.drill.load import load as load_file
    from playalong.drill.variation import AS_WRITTEN

    with option_errors():
        return load_file(path, variation or AS_WRITTEN, defaults=defaults().of_drills)


@contextmanager
def option_errors() -> Iterator[None]:
    """Names a setting at fault as the command line does."""
    from playalong.drill.origin import SettingError

    try:
        yield
    except SettingError as error:
        name = OPTIONS.get(error.setting, error.setting)
        raise PlayalongError(f"{name}: {error.message}") from None


def note(text: str) -> None:
    say(text, err=True)


def say(text: str, *, err: bool = False) -> None:
    """Print for a person: only a line break is more than a sign."""
    typer.echo("\n".join(map(shown, text.split("\n"))), err=err)


def tell_of_folder(changed: Mapping[str, str], remarks: Iterable[str]) -> None:
    """What was found in the folder, and which files somebody has changed."""
    for remark in remarks:
        note(remark)
    for name, new in changed.items():
        note(f"changed by somebody, so kept: {name}; the new one is {new}")


def columns(rows: Sequence[Sequence[str]]) -> str:
    """A plain table, a line for each row."""
    widths = [max(map(len, column)) for column in zip(*rows, strict=True)]
    lines = ("  ".join(map(str.ljust, row, widths)).rstrip() for row in rows)
    return "\n".join(lines) + "\n"


def count(number: int, what: str) -> str:
    """`1 track`, `2 tracks`."""
    return f"{number} {what}" if number == 1 else f"{number} {what}s"
