"""Accidentals: which heads of a bar need one beside the key signature."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from playalong.engraving.written_score import Bar
from playalong.instrument.instruments import Instrument
from playalong.music.key import Key
from playalong.music.pitch import Pitch

ACCIDENTALS = {  # by alteration in semitones, as MusicXML has them
    -3: "triple-flat",
    -2: "flat-flat",
    -1: "flat",
    0: "natural",
    1: "sharp",
    2: "double-sharp",
    3: "triple-sharp",
}


@dataclass(frozen=True)
class Accidental:
    """A sign beside a head; one of courtesy says what holds anyway, in parentheses."""

    name: str
    is_courtesy: bool = False


def accidentals(
    key: Key, bar: Bar, instrument: Instrument, before: Bar | None = None
) -> dict[str, Accidental]:
    """The accidental of every head that needs one, by the head's id.

    One holds to the end of its bar on its own line or space; ghost notes take their turn. The
    signature does not have raised sixths and sevenths, so those are written each time. One of
    courtesy reminds where the bar before, or the same bar in another octave, had the letter
    otherwise (common practice).
    """
    heard = (
        {pitch.letter: pitch.alter for _, _, pitch, _ in _heads(before, instrument)}
        if before
        else {}
    )
    in_force: dict[int, int] = {}
    found: dict[str, Accidental] = {}
    for _, name, pitch, piece in _heads(bar, instrument):
        by_key = key.signature_alteration(pitch.letter)
        if not piece and pitch.alter != in_force.get(pitch.index, by_key):
            found[name] = Accidental(ACCIDENTALS[pitch.alter])
        elif not piece and pitch.alter != heard.get(pitch.letter, pitch.alter):
            found[name] = Accidental(ACCIDENTALS[pitch.alter], is_courtesy=True)
        in_force[pitch.index] = heard[pitch.letter] = pitch.alter
    return found


def _heads(bar: Bar, instrument: Instrument) -> list[tuple[Fraction, str, Pitch, int]]:
    """Start, id, pitch as it is read, and piece of every head, in order."""
    read = instrument.as_written
    heads = [
        (each.start, each.id, read(each.note.pitch), each.piece)
        for each in bar.notes_and_rests
        if each.note
    ]
    heads += [(ghost.start, ghost.id, read(ghost.pitch), 0) for ghost in bar.ghosts]
    return sorted(heads, key=lambda head: head[0])
