"""What music21 (BSD), an independent reader, finds in a score, beside what ours finds."""

from __future__ import annotations

import warnings
from fractions import Fraction
from pathlib import Path
from typing import NamedTuple

import music21

from playalong.passage.container import score_bytes
from playalong.passage.score_reader import all_parts

CORPUS = Path(music21.__file__).parent / "corpus"


class Head(NamedTuple):
    bar: int  # place in its part
    at: Fraction  # quarters from the beginning of the bar
    length: Fraction
    name: str  # letter, accidentals, octave
    grace: bool


def our_heads(path: Path) -> list[Head]:
    """Those of all parts, in one order."""
    return sorted(
        Head(place, note.at, note.length, note.pitch.name, note.is_grace)
        for part in all_parts(score_bytes(path))
        for place, bar in enumerate(part.bars)
        for note in bar.notes
        if note.pitch
    )


def their_heads(path: Path) -> list[Head]:
    """The same by music21, which makes parts of staves and staves of parts."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        score = music21.converter.parse(path, forceSource=True)
    heads = []
    for part in score.parts:
        for place, bar in enumerate(part.getElementsByClass("Measure")):
            for note in bar.recurse().notes:
                if isinstance(note, music21.harmony.Harmony):
                    continue
                at = Fraction(note.getOffsetInHierarchy(bar))
                length = Fraction(note.duration.quarterLength)
                heads += [
                    Head(place, at, length, _name(pitch), note.duration.isGrace)
                    for pitch in note.pitches
                ]
    return sorted(heads)


def _name(pitch: music21.pitch.Pitch) -> str:
    accidental = pitch.accidental.modifier if pitch.accidental else ""
    return f"{pitch.step}{accidental.replace('-', 'b')}{pitch.octave}"
