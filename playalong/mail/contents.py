"""Which files of a folder go into a mail: the guide, the sheet, the tracks, the sessions."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path, PurePosixPath
from typing import Literal

from playalong.errors import PlayalongError, nearest, short
from playalong.folder.inside import is_link, link_on_the_way, may_be_ours, quoted
from playalong.folder.manifest import WAY_OUT, Manifest, SessionEntry, TrackEntry
from playalong.folder.names import MANIFEST_FILE, READ_ME_FILE, page_sound, played_by_page

Kind = Literal["read-me", "sheet", "page", "track", "midi", "session", "page sound"]


class ContentsError(PlayalongError):
    """A folder that cannot be mailed as it is."""


@dataclass(frozen=True)
class Item:
    """One file to mail."""

    path: Path
    listed: PurePosixPath  # its path below OUT, as the manifest has it
    kind: Kind
    size_bytes: int
    track: TrackEntry | None = None  # that it belongs to
    session: SessionEntry | None = None

    @property
    def name(self) -> str:
        """Its name as an attachment: folders become part of it, so that names stay distinct."""
        return "-".join(self.listed.parts)

    @property
    def seconds(self) -> float:
        """Of its sound; 0 where the manifest knows of none."""
        entry = self.track or self.session
        return entry.seconds if entry else 0.0

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
    def filters(self) -> dict[str, tuple[object, ...]]:
        """By the field of a track that each is about, which its option is named after."""
        return {"key": self.keys, "string": self.strings, "stage": self.stages, "bpm": self.bpms}

    @property
    def in_part(self) -> bool:
        """Whether it lets through less than a session plays."""
        return bool(self.stages or self.bpms)

    def lets_through(self, track: TrackEntry) -> bool:
        return all(not asked or getattr(track, f) in asked for f, asked in self.filters.items())


@dataclass(frozen=True)
class Contents:
    title: str
    read_me: Item
    items: tuple[Item, ...]  # the sheet, then the tracks in the order of practice
    sessions: tuple[Item, ...]  # those that may go along
    page_sounds: tuple[Item, ...]  # the same of what the page reads, which can do without
    remarks: tuple[str, ...] = ()  # what the sender should know

    @property
    def stages(self) -> tuple[str, ...]:
        return tuple(dict.fromkeys(item.track.stage for item in self.items if item.track))


def read_contents(out: Path, choice: Choice) -> Contents:
    """The files of OUT to mail. Raises ManifestError and ContentsError."""
    if out.is_file():
        raise ContentsError(
            f"{out} is a file; name the folder that playalong make filled, or add --pupils"
        )
    manifest = Manifest.read(out)
    _check_filters(choice, manifest.tracks)
    tracks = [track for track in manifest.tracks if choice.lets_through(track)]
    if not tracks:
        raise ContentsError(f"no track of {out} is all of what was asked for together")
    # The page offers every track of the folder, so it only goes along with all of them.
    page = manifest.sheet.get("page") if choice.page else None
    whole = len(tracks) == len(manifest.tracks)
    remarks = []
    if page and not whole:
        remarks.append(
            f"{page} is not in the zip, because it offers tracks that were not asked for"
        )
    choice = replace(choice, page=bool(page) and whole)
    items = [*_sheet_items(out, manifest.sheet, choice)]
    for track in tracks:
        items += _track_items(out, track, choice)
    return Contents(
        title=" ".join(manifest.title.split()),
        read_me=_item(out, READ_ME_FILE, "read-me"),
        items=tuple(items),
        sessions=tuple(_session_items(out, manifest.sessions, tracks, choice)),
        page_sounds=tuple(_page_sounds(out, manifest)) if choice.page else (),
        remarks=tuple(remarks),
    )


def _check_filters(choice: Choice, tracks: Sequence[TrackEntry]) -> None:
    """A filter that no track could pass is an error."""
    for field, asked in choice.filters.items():
        known = list(dict.fromkeys(str(getattr(track, field)) for track in tracks))
        for word in map(str, asked):
            if word not in known:
                raise ContentsError(
                    f'--{field}: no track here has "{short(word)}"{nearest(word, known)}'
                )


def _sheet_items(out: Path, sheet: Mapping[str, str], choice: Choice) -> Iterator[Item]:
    if "pdf" in sheet:
        yield _item(out, sheet["pdf"], "sheet")
    if choice.page:
        yield _item(out, sheet["page"], "page")


def _track_items(out: Path, track: TrackEntry, choice: Choice) -> Iterator[Item]:
    yield _item(out, track.audio, "track", track)
    if choice.midi:
        yield _item(out, track.midi, "midi", track)


def _session_items(
    out: Path, sessions: Sequence[SessionEntry], tracks: Sequence[TrackEntry], choice: Choice
) -> Iterator[Item]:
    if choice.sessions is False or (choice.sessions is None and choice.in_part):
        return
    pairs = {(track.key, track.string) for track in tracks}
    for session in sessions:
        if (session.key, session.string) in pairs:
            yield _item(out, session.audio, "session", session=session)


def _page_sounds(out: Path, manifest: Manifest) -> Iterator[Item]:
    for track in manifest.tracks:
        for name in map(page_sound, played_by_page(track.audio, track.stems)):
            if name in manifest.sha256:
                yield _item(out, name, "page sound")


def _item(
    out: Path,
    name: str,
    kind: Kind,
    track: TrackEntry | None = None,
    session: SessionEntry | None = None,
) -> Item:
    """A file that is there, and inside the folder whatever a manifest says."""
    listed = PurePosixPath(name)
    path = out / listed
    if not may_be_ours(name) or link_on_the_way(out, name) or is_link(path):
        raise ContentsError(
            f"{out / MANIFEST_FILE} names {quoted(name)}, which lies outside the folder or behind "
            f"a link; {WAY_OUT}"
        )
    if not path.is_file():
        raise ContentsError(f"{path} is missing; {WAY_OUT}")
    return Item(path, listed, kind, path.stat().st_size, track, session)
