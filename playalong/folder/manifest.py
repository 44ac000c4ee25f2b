"""The manifest: every file that a build made, so that tools, and the next build, know them."""

from __future__ import annotations

import json
import os
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from types import NoneType
from typing import Any, get_type_hints

from playalong.errors import PlayalongError
from playalong.folder.files import ReadError, read_json
from playalong.folder.names import MANIFEST_FILE

FORMAT = "playalong manifest 1"
LARGEST_BYTES = 16_000_000  # of some ten thousand tracks
WAY_OUT = "make the folder again with playalong make"


class ManifestError(PlayalongError):
    """A folder without a manifest that can be read."""


@dataclass(frozen=True)
class TrackEntry:
    """One track. Paths are relative to the manifest, with forward slashes."""

    number: int
    key: str
    string: str | None
    bpm: int
    stage: str
    seconds: float
    audio: str
    midi: str
    timeline: str
    stems: dict[str, str]
    sha256: dict[str, str]

    def data(self) -> dict[str, Any]:
        return {**vars(self), "seconds": round(self.seconds, 6)}

    @classmethod
    def of(cls, data: Mapping[str, Any]) -> TrackEntry:
        """The entry that `data` came from; what is not of it is passed over."""
        return cls(**{name: _read(data, name, kind) for name, kind in _TRACK.items()})


@dataclass(frozen=True)
class SessionEntry:
    """A hands-free file; each part says from which second it plays which track."""

    key: str
    string: str | None
    seconds: float
    audio: str
    parts: tuple[tuple[float, int], ...]
    sha256: dict[str, str]

    def data(self) -> dict[str, Any]:
        parts = [{"from": round(start, 6), "track": track} for start, track in self.parts]
        return {**vars(self), "seconds": round(self.seconds, 6), "parts": parts}

    @classmethod
    def of(cls, data: Mapping[str, Any]) -> SessionEntry:
        listed = {name: _read(data, name, kind) for name, kind in _SESSION.items()}
        parts = [(_read(part, "from", float), _read(part, "track", int)) for part in data["parts"]]
        return cls(**{**listed, "parts": tuple(parts)})


@dataclass(frozen=True)
class Manifest:
    title: str
    drill_file: str
    drill_sha256: str
    tracks: tuple[TrackEntry, ...] = ()
    sessions: tuple[SessionEntry, ...] = ()
    left_out: tuple[str, ...] = ()
    sheet: Mapping[str, Any] = field(default_factory=dict)  # pdf, musicxml (a list), page
    sha256: Mapping[str, str] = field(
        default_factory=dict
    )  # of sheet, page with its sound, read-me

    def data(self) -> dict[str, Any]:
        return {
            "format": FORMAT,
            "drill": {"title": self.title, "file": self.drill_file, "sha256": self.drill_sha256},
            "tracks": [track.data() for track in self.tracks],
            "sessions": [session.data() for session in self.sessions],
            "left_out": list(self.left_out),
            "sheet": dict(self.sheet),
            "sha256": dict(self.sha256),
        }

    @property
    def hashes(self) -> Mapping[str, str]:
        """Of every file that it lists, by name."""
        hashes = dict(self.sha256)
        for track in self.tracks:
            hashes |= track.sha256
        for session in self.sessions:
            hashes |= session.sha256
        return hashes

    def json(self) -> str:
        return json.dumps(self.data(), ensure_ascii=False, indent=1) + "\n"

    @classmethod
    def of(cls, data: Mapping[str, Any]) -> Manifest:
        """The manifest that `data` came from. Raises ManifestError, which names the fault."""
        drill, sheet = _read(data, "drill", dict), _read(data, "sheet", dict)
        for name in sheet.keys() & {"pdf", "page"}:
            _read(sheet, name, str)
        return cls(
            title=_read(drill, "title", str),
            drill_file=_read(drill, "file", str),
            drill_sha256=_read(drill, "sha256", str),
            tracks=tuple(map(TrackEntry.of, _read(data, "tracks", list))),
            sessions=tuple(map(SessionEntry.of, _read(data, "sessions", list))),
            left_out=tuple(_read(data, "left_out", list)),
            sheet=sheet,
            sha256=_read({"sha256": {}, **data}, "sha256", dict[str, str]),  # later than the rest
        )

    @classmethod
    def read(cls, out: Path) -> Manifest:
        """The manifest of a folder. Raises ManifestError, with the way out."""
        path = out / MANIFEST_FILE
        try:
            if not os.path.lexists(path):
                raise ManifestError(
                    f"{out} holds no {MANIFEST_FILE}; name the folder that playalong make filled"
                )
            data = read_json(path, LARGEST_BYTES, "a manifest")
        except ReadError as error:
            raise ManifestError(str(error)) from None
        except ValueError:
            data = None
        if not isinstance(data, dict) or data.get("format") != FORMAT:
            raise ManifestError(f"{path} is not a {FORMAT}; {WAY_OUT}")
        try:
            return cls.of(data)
        except ManifestError as error:
            raise ManifestError(f"{path} {error}; {WAY_OUT}") from None


# The fields of the entries, with what each is declared to hold.
_TRACK = get_type_hints(TrackEntry)
_SESSION = get_type_hints(SessionEntry) | {"parts": list}

# How JSON holds what is declared otherwise.
_IN_JSON: Mapping[Any, Any] = {
    float: (float, int),
    str | None: (str, NoneType),
    dict[str, str]: dict,
}


def _read(data: Any, name: str, kind: Any) -> Any:
    """A field of a JSON object, if it is of its kind; a mapping holds text alone."""
    if not isinstance(data, Mapping) or name not in data:
        raise ManifestError(f"lacks {name!r}")
    value = data[name]
    fits = isinstance(value, _IN_JSON.get(kind, kind))
    if fits and kind == dict[str, str]:
        fits = all(isinstance(each, str) for each in value.values())
    if not fits:
        raise ManifestError(f"holds no good {name!r}")
    return value
