"""MusicXML read back by two programs that this project did not write, in the same plain terms."""

from __future__ import annotations

import importlib
import sys
import warnings
from dataclasses import dataclass, field
from fractions import Fraction
from functools import cache
from pathlib import Path
from typing import Any

FINEST = 1 << 16  # music21 keeps fractions of a quarter to about this denominator


@dataclass(frozen=True)
class Head:
    """A note, its ties joined: quarters from the start, and its pitch as it sounds."""

    start: Fraction
    length: Fraction
    pitch: str  # as in F#4
    finger: int | None = None


@dataclass
class ReadBack:
    notes: list[Head] = field(default_factory=list)
    ghosts: list[Head] = field(default_factory=list)
    slurs: set[tuple[Fraction, Fraction]] = field(default_factory=set)  # starts of both ends
    slides: set[tuple[Fraction, Fraction]] = field(default_factory=set)


def by_music21(xml: bytes, *, expanded: bool = False) -> ReadBack:
    """As written, or with the repeats played out."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        from music21 import converter

        part = converter.parseData(xml.decode(), format="musicxml").parts[0]
        part = part.toSoundingPitch()
        if expanded:
            part = part.expandRepeats()
    read, starts = ReadBack(), {}
    for note in part.recurse().notes:
        start = _exact(note.getOffsetInHierarchy(part))
        starts[note.id] = start
        head = Head(start, _exact(note.duration.quarterLength), _name(note), _finger(note))
        heads = read.ghosts if note.noteheadParenthesis else read.notes
        if note.tie and note.tie.type in ("stop", "continue"):
            last = heads.pop()
            starts[note.id] = last.start
            head = Head(last.start, last.length + head.length, last.pitch, last.finger)
        heads.append(head)
    spanners = () if expanded else (("Slur", read.slurs), ("Glissando", read.slides))
    for kind, found in spanners:
        for spanner in part.recurse().getElementsByClass(kind):
            found.add((starts[spanner.getFirst().id], starts[spanner.getLast().id]))
    read.notes.sort(key=lambda head: head.start)
    read.ghosts.sort(key=lambda head: head.start)
    return read


def _exact(value: Any) -> Fraction:
    return Fraction(value).limit_denominator(FINEST)


def _name(note: Any) -> str:
    return note.pitch.nameWithOctave.replace("-", "b")


def _finger(note: Any) -> int | None:
    if any("StringThumbPosition" in mark.classes for mark in note.articulations):
        return -1
    numbers = [mark.fingerNumber for mark in note.articulations if "Fingering" in mark.classes]
    return int(numbers[0]) if numbers else None


@cache
def _partitura() -> Any:
    """partitura, kept from looking for a synthesizer: with one it would fetch sounds on import."""
    held = sys.modules.get("fluidsynth")
    sys.modules["fluidsynth"] = None  # type: ignore[assignment]
    try:
        return importlib.import_module("partitura")
    finally:
        del sys.modules["fluidsynth"]
        if held is not None:
            sys.modules["fluidsynth"] = held


def by_partitura(xml: bytes, folder: Path) -> ReadBack:
    """As written. partitura reads no slides; its pitches are those on the staff."""
    file = folder / "read-back.musicxml"
    file.write_bytes(xml)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        part = _partitura().load_musicxml(str(file))[0]
    read = ReadBack()

    def start(note: Any) -> Fraction:
        while note.tie_prev:
            note = note.tie_prev
        return Fraction(note.start.t, note.start.quarter)

    for note in part.notes:
        if note.tie_prev:
            continue
        length = Fraction(note.end_tied.t - note.start.t, note.start.quarter)
        finger = [
            int(each.fingering) for each in note.technical or () if hasattr(each, "fingering")
        ]
        alter = note.alter or 0
        pitch = note.step + ("#" * alter if alter > 0 else "b" * -alter) + str(note.octave)
        head = Head(start(note), length, pitch, finger[0] if finger else None)
        (read.ghosts if note.voice == 2 else read.notes).append(head)
        read.slurs |= {(start(note), start(slur.end_note)) for slur in note.slur_starts}
    read.notes.sort(key=lambda head: head.start)
    read.ghosts.sort(key=lambda head: head.start)
    return read
