"""What every command shares: the app, its options, and how it speaks."""

from __future__ import annotations

from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from playalong.errors import PlayalongError

if TYPE_CHECKING:
    from playalong.drill.model import Drill

app = typer.Typer(
    help="Play-along tracks for shifting drills: a short drill file becomes tempo-graded MIDI "
    "and audio with guide, click, tonic drone and the slide of each shift left audible.",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
)


class PaperName(StrEnum):
    a4 = "a4"
    letter = "letter"


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


def load(path: Path, **words: Any) -> Drill:
    """The drill with the command line's words in place of the file's."""
    from playalong.drill.load import load_drill

    names = {"start": "tempo.start", "goal": "tempo.goal"}
    given = {names.get(word, word): value for word, value in words.items() if value}
    return load_drill(path, given)


def reach(positions: str | None) -> tuple[int, int] | None:
    from playalong.making.reach import ReachError, parse_reach

    try:
        return None if positions is None else parse_reach(positions)
    except ReachError as error:
        raise PlayalongError(f"--positions: {error}") from None


def note(text: str) -> None:
    typer.echo(text, err=True)


def count(number: int, what: str) -> str:
    """`1 track`, `2 tracks`."""
    return f"{number} {what}" if number == 1 else f"{number} {what}s"
