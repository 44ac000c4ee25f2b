"""What was made: its files as they were left, by which they are known again."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from playalong.folder.files import is_plain_file, sha256


@dataclass(frozen=True)
class Made:
    """Something whole: what it was made from, its files' states, and what the manifest says."""

    fingerprint: str
    files: Mapping[str, tuple[int, int]]  # name: bytes, time of change in ns
    entry: Mapping[str, Any]

    @property
    def sha256(self) -> Mapping[str, str]:
        hashes: Mapping[str, str] = self.entry["sha256"]
        return hashes

    def data(self) -> dict[str, Any]:
        files = {name: list(at) for name, at in self.files.items()}
        return {"fingerprint": self.fingerprint, "files": files, "entry": dict(self.entry)}

    @classmethod
    def of(cls, data: Mapping[str, Any]) -> Made:
        files = {name: (size, time) for name, (size, time) in data["files"].items()}
        return cls(data["fingerprint"], files, data["entry"])


@dataclass(frozen=True)
class Cleared:
    """Names of files that earlier builds made and the last one did not want."""

    removed: tuple[str, ...] = ()
    left_alone: tuple[str, ...] = ()  # somebody has changed them since


def state(path: Path) -> tuple[int, int] | None:
    """Size and time of change in ns; None where there is no such file."""
    try:
        found = path.lstat()
    except OSError:
        return None
    return found.st_size, found.st_mtime_ns


def hash_of(path: Path) -> str | None:
    """A plain file's; None for anything else, and for what cannot be read."""
    try:
        return sha256(path) if is_plain_file(path) else None
    except OSError:
        return None
