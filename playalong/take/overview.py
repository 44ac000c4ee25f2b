"""Several takes at once: pupil by pupil, as the files are named."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import groupby
from pathlib import Path

from playalong.take import model, summary
from playalong.take.model import Heard
from playalong.take.words import tendencies

UNNAMED = "no name"
_ENDING = re.compile(r"(?:[\s_.-]*+(?:take|\(?\d++\)?))*+[\s_.-]*+$", re.IGNORECASE)


@dataclass(frozen=True)
class Listened:
    """A take, its recording and the name of its track."""

    recording: Path
    track: str
    heard: Heard

    @property
    def pupil(self) -> str:
        return pupil_of(self.recording.stem, self.track)

    def without_curves(self) -> Listened:
        """Its figures alone: the curves of an evening would fill the memory."""
        notes = tuple(replace(note, curve=()) for note in self.heard.notes)
        return replace(self, heard=replace(self.heard, notes=notes))


def pupil_of(stem: str, track: str) -> str:
    """What is left of a file's name without the track's, a date and a number:
    `anna-01-060-listen-2026-11-27 (2)` is anna's."""
    flat = track.replace("/", "-")
    for name in (flat, track.rsplit("/", 1)[-1]):
        stem = re.sub(re.escape(name), "", stem, flags=re.IGNORECASE)
    return _ENDING.sub("", stem.strip(" _.-")) or UNNAMED


def overview(takes: Sequence[Listened]) -> list[str]:
    """A line for each take, and what tends one way over all takes of one pupil."""
    lines: list[str] = []
    ordered = sorted(takes, key=lambda each: (each.pupil.casefold(), each.recording.name))
    for pupil, group in groupby(ordered, key=lambda each: each.pupil):
        own = list(group)
        lines += ["", pupil, *(f"  {_line(each)}" for each in own)]
        lines += [f"  {each}".rstrip() for each in tendencies([take.heard for take in own])]
    return lines[1:]


def _line(take: Listened) -> str:
    notes = take.heard.notes
    found = summary.classes(notes)
    others = sum(note.verdict == model.ANOTHER for note in notes)
    missing = sum(note.verdict == model.NOT_HEARD for note in notes)
    told = [
        f"within 5 cents {len(found.within_5)}",
        f"5 to 15 off {len(found.within_15)}",
        f"more {len(found.beyond)}",
    ]
    told += [f"another note {others}"] if others else []
    told += [f"not heard {missing}"] if missing else []
    return f"{take.track}: {', '.join(told)} ({take.recording.name})"
