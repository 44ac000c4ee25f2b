"""Figures over the takes of a track, in `takes.jsonl` beside it: counts, no sound, no score."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from playalong.errors import reason
from playalong.folder.files import WriteError
from playalong.take import summary
from playalong.take.model import Heard

FILE_NAME = "takes.jsonl"
FORMAT = "playalong takes 1"
SHOWN = 8
HASHED_BYTES = 2**20
COUNTS = ("notes", "judged", "within_5", "within_15", "beyond")


@dataclass(frozen=True)
class Figures:
    """Of one take. `take` is the same for the same recording of the same track."""

    take: str
    when: str
    track: str
    against: str
    notes: int
    judged: int
    within_5: int
    within_15: int
    beyond: int

    def line(self) -> str:
        return json.dumps({"format": FORMAT, **vars(self)}, ensure_ascii=False) + "\n"

    @classmethod
    def of(cls, heard: Heard, track: str, recording: Path, when: str) -> Figures:
        found = summary.classes(heard.notes)
        counts = [len(each) for each in (found.within_5, found.within_15, found.beyond)]
        return cls(
            take=_known_again(recording, heard),
            when=when,
            track=track,
            against=heard.against or heard.timeline.temperament,
            notes=len(heard.notes),
            judged=sum(counts),
            within_5=counts[0],
            within_15=counts[1],
            beyond=counts[2],
        )


def _known_again(recording: Path, heard: Heard) -> str:
    with recording.open("rb") as file:
        start = file.read(HASHED_BYTES)
    told = f"{recording.stat().st_size} {heard.placed.offset_seconds:.2f}".encode()
    return hashlib.sha256(start + told).hexdigest()[:16]


def kept(folder: Path, track: str) -> list[Figures]:
    """Figures of a track, as they were kept; a line that is none is passed over."""
    try:
        lines = (folder / FILE_NAME).read_text(encoding="utf-8").splitlines()
    except (OSError, UnicodeDecodeError):
        return []
    found = (_read(line) for line in lines)
    return [each for each in found if each is not None and each.track == track]


def _read(line: str) -> Figures | None:
    try:
        data: Mapping[str, Any] = json.loads(line)
        if data["format"] != FORMAT:
            return None
        return Figures(
            str(data["take"]),
            str(data["when"]),
            str(data["track"]),
            str(data["against"]),
            *(int(data[name]) for name in COUNTS),
        )
    except (ValueError, KeyError, TypeError, RecursionError):
        return None


def keep(folder: Path, figures: Figures) -> list[Figures]:
    """Add a take, unless it is there already or nothing in it was judged. All of its track that
    were judged against the same temperament, the oldest first."""
    before = [
        each
        for each in kept(folder, figures.track)
        if each.judged and each.against == figures.against
    ]
    if not figures.judged or figures.take in {each.take for each in before}:
        return before
    path = folder / FILE_NAME
    try:
        with path.open("a", encoding="utf-8") as file:
            file.write(figures.line())
    except OSError as error:
        raise WriteError(f"cannot write {path}: {reason(error)}; --keep no leaves it out") from None
    return [*before, figures]


def lines(takes: list[Figures]) -> list[str]:
    """How the takes of a track went, from the second one on."""
    if len(takes) < 2:
        return []
    told = [f"Takes of this track: {len(takes)}. Within 5 cents, of the notes judged:"]
    shown = takes[-SHOWN:]
    return [*told, "  " + ", then ".join(f"{each.within_5} of {each.judged}" for each in shown)]
