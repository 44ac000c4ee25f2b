"""Which files of a folder go into a mail: the guide, the sheet, the tracks, the sessions."""

from __future__ import annotations

import json
from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass, replace
from pathlib import Path, PurePosixPath
from typing import Any

from playalong.errors import PlayalongError, nearest
from playalong.folder.manifest import FORMAT
from playalong.folder.names import MANIFEST_FILE, READ_ME_FILE


class ContentsError(PlayalongError):
    """A folder that cannot be mailed as it is."""


@dataclass(frozen=True)
class Item:
    """One file to mail. `place` is its path below OUT, `key` … what the manifest says of it."""

    path: Path
    place: PurePosixPath
    kind: str  # read-me, sheet, page, track, stem, midi, session
    size_bytes: int
    key: str = ""
    string: str | None = None
    bpm: int = 0
    stage: str = ""
    number: int = 0
    seconds: float = 0.0

    @property
    def name(self) -> str:
        """Its name as an attachment: folders become part of it, so that names stay distinct."""
        return "-".join(self.place.parts)

    @property
    def group(self) -> str:
        return f"{self.key}, {self.string} string" if self.string else self.key

    def instead(self, path: Path) -> Item:
        """The same for the pupil, from another file."""
        return replace(self, path=path, size_bytes=path.stat().st_size)


@dataclass(frozen=True)
class Choice:
    """What of a folder to mail; an empty filter lets everything through."""

    keys: tuple[str, ...] = ()
    strings: tuple[str, ...] = ()
    stages: tuple[str, ...] = ()
    bpms: tuple[int, ...] = ()
    midi: bool = False
    page: bool = False
    sessions: bool | None = None  # None: where they fit

    @property
    def in_part(self) -> bool:
        """Whether it lets through less than a session plays."""
        return bool(self.stages or self.bpms)


@dataclass(frozen=True)
class Contents:
    title: str
    read_me: Item
    items: tuple[Item, ...]  # the sheet, then the tracks in the order of practice
    sessions: tuple[Item, ...]  # those that may go along
    notes: tuple[str, ...] = ()  # what the sender should know

    @property
    def stages(self) -> tuple[str, ...]:
        return tuple(dict.fromkeys(item.stage for item in self.items if item.stage))


def read_contents(out: Path, choice: Choice) -> Contents:
    """Read OUT/manifest.json and find the files. Raises ContentsError."""
    data = _manifest(out)
    try:
        title = " ".join(str(data["drill"]["title"]).split())
        tracks = [track for track in data["tracks"] if _wanted(data, track, choice)]
        sheet = data.get("sheet") or {}
        # The page offers every track of the folder, so it only goes along with all of them.
        whole, asked = len(tracks) == len(data["tracks"]), choice.page and "page" in sheet
        choice = replace(choice, page=asked and whole)
        items = [
            *_sheet_items(out, sheet, choice),
            *(item for track in tracks for item in _track_items(out, track, choice)),
        ]
        sessions = tuple(_session_items(out, data.get("sessions") or [], tracks, choice))
    except (KeyError, TypeError, AttributeError) as error:
        raise ContentsError(
            f"{out / MANIFEST_FILE} lacks {error}; make the folder again with playalong make"
        ) from None
    if not tracks:
        raise ContentsError(f"no track of {out} is all of what was asked for together")
    notes = []
    if asked and not whole:
        notes.append(
            f"{sheet['page']} is not in the zip, because it offers tracks that were not asked for"
        )
    return Contents(
        title, _item(out, READ_ME_FILE, "read-me"), tuple(items), sessions, tuple(notes)
    )


def _manifest(out: Path) -> dict[str, Any]:
    path = out / MANIFEST_FILE
    if out.is_file():
        raise ContentsError(
            f"{out} is a file; name the folder that playalong make filled, or add --pupils"
        )
    try:
        data = json.loads(path.read_text(encoding="utf-8"))
    except FileNotFoundError:
        raise ContentsError(
            f"{out} holds no {MANIFEST_FILE}; name the folder that playalong make filled"
        ) from None
    except OSError as error:
        raise ContentsError(f"cannot read {path}: {error.strerror or error}") from None
    except (ValueError, RecursionError):
        data = None
    if not isinstance(data, dict) or data.get("format") != FORMAT:
        raise ContentsError(f"{path} is not a {FORMAT}; make the folder again with playalong make")
    return data


def _wanted(data: Mapping[str, Any], track: Mapping[str, Any], choice: Choice) -> bool:
    """Whether a track passes every filter; a filter that no track could pass is an error."""
    for field, option, asked in (
        ("key", "--key", choice.keys),
        ("string", "--string", choice.strings),
        ("stage", "--stage", choice.stages),
        ("bpm", "--bpm", choice.bpms),
    ):
        known = list(dict.fromkeys(str(each[field]) for each in data["tracks"]))
        _check_known(option, map(str, asked), known)
        if asked and track[field] not in asked:
            return False
    return True


def _check_known(option: str, asked: Iterator[str], known: Collection[str]) -> None:
    for word in asked:
        if word not in known:
            raise ContentsError(f'{option}: no track here has "{word}"{nearest(word, known)}')


def _sheet_items(out: Path, sheet: Mapping[str, str], choice: Choice) -> Iterator[Item]:
    if "pdf" in sheet:
        yield _item(out, sheet["pdf"], "sheet")
    if choice.page:
        yield _item(out, sheet["page"], "page")


def _track_items(out: Path, track: Mapping[str, Any], choice: Choice) -> Iterator[Item]:
    said = {field: track[field] for field in ("key", "string", "bpm", "stage", "number", "seconds")}
    yield _item(out, track["audio"], "track", **said)
    if choice.page:  # whose balance plays them
        for stem in (track.get("stems") or {}).values():
            yield _item(out, stem, "stem", **said)
    if choice.midi:
        yield _item(out, track["midi"], "midi", **said)


def _session_items(
    out: Path, sessions: list[dict[str, Any]], tracks: list[dict[str, Any]], choice: Choice
) -> Iterator[Item]:
    if choice.sessions is False or (choice.sessions is None and choice.in_part):
        return
    pairs = {(track["key"], track["string"]) for track in tracks}
    for each in sessions:
        if (each["key"], each["string"]) in pairs:
            said = {field: each[field] for field in ("key", "string", "seconds")}
            yield _item(out, each["audio"], "session", **said)


def _item(out: Path, name: str, kind: str, **said: Any) -> Item:
    """A file that is there, and inside the folder whatever a manifest says."""
    place = PurePosixPath(name)
    path = out / place
    inside = path.resolve().is_relative_to(out.resolve())
    if not inside or place.is_absolute() or ".." in place.parts or "\\" in name:
        raise ContentsError(f'{out / MANIFEST_FILE} names "{name}", which lies outside the folder')
    if not path.is_file():
        raise ContentsError(f"{path} is missing; make the folder again with playalong make")
    return Item(path, place, kind, path.stat().st_size, **said)
