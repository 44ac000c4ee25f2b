"""What music21 (BSD), an independent reader, finds in a score, beside what ours finds."""

from __future__ import annotations

import warnings
from fractions import Fraction
from pathlib import Path
from typing import NamedTuple

import music21
from midi_scores import Struck, key_signature, meter, midi, track

from playalong.passage.container import score_bytes
from playalong.passage.model import Part
from playalong.passage.reading import all_parts

CORPUS = Path(music21.__file__).parent / "corpus"
SUITE = Path(music21.__file__).parent / "musicxml/lilypondTestSuite"  # MusicXML's, under MIT


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


class Agreement(NamedTuple):
    """How many notes of a score came back, and how many of those as they were."""

    notes: int
    onsets: int
    lengths: int
    letters: int


def midi_agreement(path: Path, gate: float = 1, jitter_quarters: float = 0) -> Agreement:
    """A score as music21 reads it, part by part through MIDI, let go of early and played unevenly
    as asked, to our reader. Unisons of two voices are left aside: MIDI has one key for them."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        score = music21.converter.parse(path, forceSource=True)
    total = Agreement(0, 0, 0, 0)
    for part in score.parts:
        flat = part.flatten()
        theirs = {
            (Fraction(note.offset).limit_denominator(96), pitch.midi): (
                Fraction(note.duration.quarterLength).limit_denominator(96),
                _name(pitch),
            )
            for note in flat.stripTies().notes
            if not (note.duration.isGrace or isinstance(note, music21.harmony.Harmony))
            for pitch in note.pitches
        }
        changes = [
            key_signature(each.asKey("major").tonic.name.replace("-", "b"), each.offset)
            for each in flat.getElementsByClass("KeySignature")
        ] + [
            meter(each.numerator, each.denominator, each.offset)
            for each in flat.getElementsByClass("TimeSignature")
        ]
        struck = [
            Struck(at, length * Fraction(gate), key) for (at, key), (length, _) in theirs.items()
        ]
        (ours,) = all_parts(midi(track(struck, *changes, jitter_quarters=jitter_quarters)))
        total = Agreement(*(sum(pair) for pair in zip(total, _agreed(theirs, ours), strict=True)))
    return total


def _agreed(theirs: dict[tuple[Fraction, int], tuple[Fraction, str]], ours: Part) -> Agreement:
    found, start = dict[tuple[Fraction, int], tuple[Fraction, str]](), Fraction(0)
    ends: dict[tuple[Fraction, int], tuple[Fraction, int]] = {}  # of tied heads, to their onset
    for bar in ours.bars:
        for note in bar.notes:
            if note.pitch:
                at, key = start + note.at, note.pitch.key_number
                onset = ends.get((at, key), (at, key)) if note.tie_from_last else (at, key)
                length, name = found.get(onset, (Fraction(0), note.pitch.name))
                found[onset] = (length + note.length, name)
                ends[at + note.length, key] = onset
        start += bar.length
    common = theirs.keys() & found.keys()
    same = [(theirs[each], found[each]) for each in common]
    lengths, letters = (sum(a[n] == b[n] for a, b in same) for n in (0, 1))
    return Agreement(len(theirs), len(common), lengths, letters)
