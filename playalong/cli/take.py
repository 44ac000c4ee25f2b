"""take: what a player played to a track is listened to."""

from __future__ import annotations

import json
import sys
from collections.abc import Iterator, Sequence
from datetime import datetime
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from playalong.cli.shared import AsJson, Quiet, app, note, say
from playalong.errors import PlayalongError

if TYPE_CHECKING:
    from playalong.take.find import Piece, Track
    from playalong.take.overview import Listened


class Temperament(StrEnum):
    equal = "equal"
    pythagorean = "pythagorean"
    just = "just"


class YesNo(StrEnum):
    yes = "yes"
    no = "no"


@app.command()
def take(
    recordings: Annotated[
        list[Path],
        typer.Argument(
            metavar="RECORDING... [TRACK]",
            help="What was recorded; last, the track that was played (its audio or timeline in a "
            "folder that make filled), or only the folder.",
        ),
    ],
    against: Annotated[
        Temperament | None,
        typer.Option("--against", help="Judge against another temperament than the track's."),
    ] = None,
    out: Annotated[
        Path | None, typer.Option("--out", "-o", help="Folder for the pages; beside the recording.")
    ] = None,
    open_page: Annotated[bool, typer.Option("--open", help="Open the page in a browser.")] = False,
    keep: Annotated[
        YesNo,
        typer.Option("--keep", help="Keep the figures in takes.jsonl beside the track."),
    ] = YesNo.yes,
    quiet: Quiet = False,
    as_json: AsJson = False,
) -> None:
    """Listen to a take: note by note how true it was, and how each shift arrived."""
    from playalong.take.overview import overview
    from playalong.take.words import FOOT

    names, tracks = _asked(recordings)
    listened: list[Listened] = []
    told_as: list[str] = []  # a recording of hours holds hundreds of takes: text takes least room
    pages: list[Path] = []
    failed: list[PlayalongError] = []
    heard_any = False
    for name in names:
        try:
            for each in _listened(name, tracks, against, quiet):
                told = _kept(each, tracks) if keep is YesNo.yes else []
                if not as_json or out or open_page:
                    pages += _pages(each, tracks, out, pages)
                if not quiet and not as_json and len(names) == 1:
                    say("\n" * heard_any + _told(each, told))
                if as_json:
                    told_as.append(json.dumps(each.heard.data(), ensure_ascii=False, indent=1))
                elif len(names) > 1:
                    listened.append(each.without_curves())
                heard_any = True
        except PlayalongError as error:
            if len(names) == 1:
                raise
            failed.append(error)
            note(f"playalong: {error}")
    if as_json:
        typer.echo(told_as[0] if len(told_as) == len(names) == 1 else _as_list(told_as))
    elif not quiet and heard_any:
        if len(names) > 1:
            say("\n".join(overview(listened)))
        say("\n" + "\n".join(FOOT) + "\n")
        say("\n".join(str(page) for page in pages))
    if open_page and pages:
        typer.launch(str(pages[0]))
    if failed:
        raise typer.Exit(failed[0].exit_status)


def _as_list(texts: Sequence[str]) -> str:
    """Of texts in JSON, as `json.dumps` of a list with `indent=1` has it."""
    inside = ",".join("\n " + each.replace("\n", "\n ") for each in texts)
    return f"[{inside}\n]" if texts else "[]"


def _asked(paths: Sequence[Path]) -> tuple[list[Path], list[Track]]:
    """Recordings, and the tracks that they may be of."""
    from playalong.take.find import folder_of, tracks_of

    *names, last = paths
    if last.is_dir() or last.name.endswith(".timeline.json") or (names and folder_of(last)):
        if not names:
            raise PlayalongError(f"name a recording before {last}")
        return names, tracks_of(last)
    if names and not last.exists():
        raise PlayalongError(f"there is no recording, track or folder {last}")
    folder = folder_of(last)
    if folder is None:
        raise PlayalongError(
            f"which track is {last.name} a take of? Name the track, or the folder that playalong "
            "make filled, after it"
        )
    return [*names, last], tracks_of(folder)


def _listened(
    name: Path, tracks: Sequence[Track], against: Temperament | None, quiet: bool
) -> Iterator[Listened]:
    """Every take in a recording; which track was found is told."""
    from dataclasses import replace

    from playalong.take.against import judged_against
    from playalong.take.doubt import TakeError, checked, survey
    from playalong.take.find import find
    from playalong.take.listen import listen
    from playalong.take.overview import Listened
    from playalong.take.recording import opened
    from playalong.take.words import UNSURE_STAGE

    told = False
    with opened(name) as recording:
        surveyed = survey(recording, str(name))
        *before, last = find(recording, tracks, name.stem)
        for piece in (*before, last):
            track = _chosen(name, piece, tracks)
            heard = listen(recording, piece.placed, track.read_sound(), track.timeline)
            try:
                heard = checked(heard, str(name))
            except TakeError as error:  # of a false start, say, among others that are told
                if piece is last and not told:
                    raise
                note(f"playalong: {track.name}: {error}")
                continue
            if len(tracks) > 1 and not piece.rivals and not quiet:
                doubt = "" if piece.is_sure_of_stage else ", or another stage of it"
                note(f"{name.name}: found {track.name}{doubt}")
            unsure = () if piece.is_sure_of_stage else (UNSURE_STAGE,)
            heard = replace(
                heard,
                remarks=(*surveyed.remarks, *unsure),
                named={"recording": name.name, "track": track.name},
                has_check=track.has_check,
            )
            if against is not None:
                heard = judged_against(heard, str(against))
            told = True
            yield Listened(name, track.name, heard)


def _chosen(name: Path, piece: Piece, tracks: Sequence[Track]) -> Track:
    """The track found; where several fit as well, the one that the player names."""
    from playalong.take.find import undecided

    if not piece.rivals:
        return piece.track
    if not sys.stdin.isatty():
        raise undecided(str(name), piece)
    fitting = [piece.track.name, *piece.rivals]
    for number, each in enumerate(fitting, 1):
        note(f"  {number}  {each}")
    asked = 0
    while not 1 <= asked <= len(fitting):
        asked = typer.prompt(f"Which of these was played in {name.name}?", type=int, err=True)
    wanted = fitting[asked - 1]
    return next(each for each in tracks if each.name == wanted)


def _kept(take: Listened, tracks: Sequence[Track]) -> list[str]:
    from playalong.take.progress import Figures, keep, lines

    track = next(each for each in tracks if each.name == take.track)
    when = datetime.now().astimezone().isoformat(timespec="seconds")
    figures = Figures.of(take.heard, take.track, take.recording, when)
    return lines(keep(track.audio.parent, figures))


def _pages(
    take: Listened, tracks: Sequence[Track], out: Path | None, before: Sequence[Path]
) -> list[Path]:
    from playalong.take.pages import write_take

    track = next(each for each in tracks if each.name == take.track)
    written = write_take(take, track, out or take.recording.parent, before)
    return [written.page] if written.sheet is None else [written.page, written.sheet]


def _told(take: Listened, kept: Sequence[str]) -> str:
    from playalong.take.words import report

    lines = [f"{take.recording.name} against {take.track}", "", *report(take.heard)]
    return "\n".join([*lines, *(["", *kept] if kept else [])])
