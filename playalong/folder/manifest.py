"""The manifest: every file that a build made, so that tools, and the next build, know them."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass, field, fields
from typing import Any

FORMAT = "playalong manifest 1"


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
        return cls(**{each.name: data[each.name] for each in fields(cls)})


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
        parts = tuple((part["from"], part["track"]) for part in data["parts"])
        listed = {each.name: data[each.name] for each in fields(cls)}
        return cls(**{**listed, "parts": parts})


@dataclass(frozen=True)
class Manifest:
    title: str
    drill_file: str
    drill_sha256: str
    tracks: tuple[TrackEntry, ...] = ()
    sessions: tuple[SessionEntry, ...] = ()
    left_out: tuple[str, ...] = ()
    sheet: Mapping[str, Any] = field(default_factory=dict)  # pdf, musicxml (a list), page

    def data(self) -> dict[str, Any]:
        return {
            "format": FORMAT,
            "drill": {"title": self.title, "file": self.drill_file, "sha256": self.drill_sha256},
            "tracks": [track.data() for track in self.tracks],
            "sessions": [session.data() for session in self.sessions],
            "left_out": list(self.left_out),
            "sheet": dict(self.sheet),
        }

    def json(self) -> str:
        return json.dumps(self.data(), ensure_ascii=False, indent=1) + "\n"
