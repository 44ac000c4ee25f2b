"""passage: from bars of a score to drills."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Annotated

import typer

from playalong.cli.shared import Quiet, app, columns, count, note, say
from playalong.errors import PlayalongError, short
from playalong.music.key import Key, KeyNameError, parse_key
from playalong.passage.wishes import Asked, OpenStrings, Wishes

_MOST_TOLD = 8


@app.command()
def passage(
    score: Annotated[
        Path,
        typer.Argument(metavar="SCORE", help="MusicXML, .mxl, MEI, ABC, Humdrum or MIDI."),
    ],
    bars: Annotated[
        str | None,
        typer.Option("--bars", help="Printed numbers: 12-15; 12.2 for 12 in a second ending."),
    ] = None,
    part: Annotated[str | None, typer.Option("--part", help="Its name or number.")] = None,
    voice: Annotated[
        str | None,
        typer.Option("--voice", help='Which, where there are several; "top" for the highest note.'),
    ] = None,
    instrument: Annotated[
        str | None,
        typer.Option("--instrument", help="violin, viola, cello or bass; else by the part's name."),
    ] = None,
    key: Annotated[
        str | None,
        typer.Option("--key", help='Key, in place of the score\'s, or for MIDI: "G minor".'),
    ] = None,
    tempo: Annotated[
        str | None,
        typer.Option("--tempo", help="Beats a minute, like 60-84.", metavar="START-GOAL"),
    ] = None,
    highest: Annotated[int, typer.Option("--highest", help="Highest position.", min=0)] = 7,
    lowest: Annotated[int, typer.Option("--lowest", help="Lowest position.", min=0)] = 0,
    stay: Annotated[
        str | None, typer.Option("--stay", help="String to stay on where it has the notes: D.")
    ] = None,
    prefer: Annotated[
        list[int] | None, typer.Option("--prefer", help="Position to prefer; may be said again.")
    ] = None,
    open_strings: Annotated[
        OpenStrings, typer.Option("--open", help="Open strings.", case_sensitive=False)
    ] = OpenStrings.AUTO,
    own_fingers: Annotated[
        bool, typer.Option("--own-fingers", help="Leave the score's fingers aside.")
    ] = False,
    shifts: Annotated[
        int, typer.Option("--shifts", help="Write drills for so many shifts.", min=0, max=24)
    ] = 3,
    listed: Annotated[
        bool, typer.Option("--list", help="List parts, bars, keys and meters; write nothing.")
    ] = False,
    out: Annotated[
        Path | None,
        typer.Option("--out", "-o", help="Folder to write to; the passage's name if left out."),
    ] = None,
    force: Annotated[bool, typer.Option("--force", help="Replace files that are there.")] = False,
    quiet: Quiet = False,
) -> None:
    """Make drills from bars of a score: the passage, fingered, and its hardest shifts apart."""
    from playalong.folder.names import safe_name
    from playalong.passage.passage import passage_of

    if listed:
        _list(score)
        return
    wishes = Wishes(
        highest,
        lowest,
        tuple(prefer or ()),
        stay.strip().upper() if stay else None,
        open_strings,
        own_fingers,
    )
    asked = Asked(part, bars, voice, instrument, _key(key), _tempo(tempo), shifts, wishes)
    with _of_score(score):
        made = passage_of(score, asked)
    folder = out or Path(safe_name(made.title))
    first = folder / next(iter(made.files))
    _write(folder, made.files, force=force)
    if quiet:
        return
    _note_some(made.told, f", in {first}")
    say(made.summary)
    for number, line in enumerate(made.shift_lines, 1):
        say(f"shift {number}: {line}")
    say(f"{first}: written, and {count(len(made.files) - 1, 'drill')} for shifts beside it.")
    say(f"Next: playalong explain {first}, then playalong make {first}")


def _note_some(lines: Sequence[str], where: str) -> None:
    """The first of what may be many lines, and where the others are."""
    for line in lines[:_MOST_TOLD]:
        note(line)
    if len(lines) > _MOST_TOLD:
        note(f"and {len(lines) - _MOST_TOLD} lines more{where}")


@contextmanager
def _of_score(score: Path) -> Iterator[None]:
    """Names the score where a message is about it."""
    from playalong.passage.model import PassageError

    try:
        yield
    except PassageError as error:
        message = str(error)
        raise PlayalongError(message if message[:2] == "--" else f"{score}: {message}") from None


def _key(text: str | None) -> Key | None:
    try:
        return parse_key(text) if text else None
    except KeyNameError as error:
        raise PlayalongError(f"--key: {error}") from None


def _tempo(text: str | None) -> tuple[int, int] | None:
    if text is None:
        return None
    from playalong.drill.model import TEMPO_RANGE_BPM

    low, high = TEMPO_RANGE_BPM
    match = re.fullmatch(r"\s*([0-9]{1,3})(?:\s*-\s*([0-9]{1,3}))?\s*", text)
    start, goal = (int(match[1]), int(match[2] or match[1])) if match else (0, 0)
    if not low <= start <= goal <= high:
        raise PlayalongError(
            f'--tempo: "{short(text)}" is not like 60 or 60-84, from {low} to {high} beats a minute'
        )
    return start, goal


def _write(folder: Path, files: Mapping[str, str], *, force: bool) -> None:
    """All of the files, or none where one of them would be replaced unasked."""
    from playalong.folder.files import make_folder, write_text

    if folder.exists() and not folder.is_dir():
        raise PlayalongError(f"{folder} is no folder; name another with --out")
    there = [folder / name for name in files if (folder / name).exists()]
    if there and not force:
        raise PlayalongError(
            f"{there[0]} is there already; take another folder with --out, or --force to replace it"
        )
    make_folder(folder)
    for name, text in files.items():
        write_text(folder / name, text)


def _list(score: Path) -> None:
    """Parts with their bars, keys and meters."""
    from playalong.passage.container import score_bytes
    from playalong.passage.reading import all_parts
    from playalong.passage.telling import part_row, unreadable

    with _of_score(score):
        parts = all_parts(score_bytes(score))
    if parts and parts[0].title:
        say(parts[0].title)
    say(columns([("part", "bars", "signatures", "meters"), *map(part_row, parts)]).rstrip())
    _note_some([line for part in parts for line in unreadable(part)], "")
