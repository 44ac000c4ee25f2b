"""Signs of MEI for what is played again: a bar, several, half a bar, a beat; as notes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction
from xml.etree.ElementTree import Element

from playalong.music.meter import Meter
from playalong.passage.model import BarError, ScoreBar, ScoreNote
from playalong.passage.note_reader import whole

BARS = {"mRpt": 1, "mRpt2": 2}
Again = tuple[list[ScoreNote], Fraction]  # from their own beginning, and how long they last


def bars_meant(sign: Element) -> int:
    """How many bars a sign repeats, its own being the first of as many."""
    return BARS.get(sign.tag) or whole(sign.get("num"), 2)


def beat_meant(sign: Element, meter: Meter | None) -> Fraction:
    """How many quarters a beatRpt lasts: the beat, or so many of what the meter counts."""
    counted = whole(sign.get("beatdef"))
    if counted > 0:
        return Fraction(4 * counted, meter.unit if meter else 4)
    return meter.beat if meter else Fraction(1)


def bar_again(before: Sequence[ScoreBar], back: int, voice: str) -> Again:
    """The bar so many bars back: what its voice plays, or all of it where no voice is called so."""
    if not 0 < back <= len(before):
        raise BarError("it repeats a bar that is not there")
    bar = before[-back]
    if bar.fault:
        raise BarError("it repeats a bar that cannot be read")
    own = [note for note in bar.notes if note.voice == voice] or list(bar.notes)
    return _alone(own, Fraction(0), bar.length), bar.length


def end_again(notes: Sequence[ScoreNote], now: Fraction, span: Fraction) -> Again:
    """The last quarters, so many, of what was read of a bar."""
    start = now - span
    if start < 0 or any(note.at < start < note.at + note.length for note in notes):
        raise BarError("it repeats a part of a bar that is not there")
    return _alone([note for note in notes if note.at >= start], start, span), span


def _alone(notes: Sequence[ScoreNote], start: Fraction, length: Fraction) -> list[ScoreNote]:
    """Without ties and slurs that lead out of them."""
    joined = sum(note.slur_starts - note.slur_stops for note in notes) == 0
    return [
        replace(
            note,
            at=note.at - start,
            tie_from_last=note.tie_from_last and note.at > start,
            tie_to_next=note.tie_to_next and note.at + note.length < start + length,
            slur_starts=note.slur_starts * joined,
            slur_stops=note.slur_stops * joined,
        )
        for note in notes
    ]
