"""Accidentals: which heads of a bar need one beside the key signature."""

from __future__ import annotations

from playalong.engraving.written_score import Bar
from playalong.instrument.instruments import Instrument
from playalong.music.key import Key

ACCIDENTALS = {  # by alteration in semitones, as MusicXML has them
    -3: "triple-flat",
    -2: "flat-flat",
    -1: "flat",
    0: "natural",
    1: "sharp",
    2: "double-sharp",
    3: "triple-sharp",
}


def accidentals(key: Key, bar: Bar, instrument: Instrument) -> dict[str, str]:
    """The accidental of every head that needs one, by the head's id.

    One holds to the end of its bar on its own line or space; ghost notes take their turn. The
    signature does not have raised sixths and sevenths, so those are written each time.
    """
    read = instrument.as_written
    heads = [
        (each.start, each.id, read(each.note.pitch), each.piece)
        for each in bar.notes_and_rests
        if each.note
    ]
    heads += [(ghost.start, ghost.id, read(ghost.pitch), 0) for ghost in bar.ghosts]
    in_force: dict[int, int] = {}
    found: dict[str, str] = {}
    for _, name, pitch, piece in sorted(heads, key=lambda head: head[0]):
        by_key = key.signature_alteration(pitch.letter)
        if not piece and pitch.alter != in_force.get(pitch.index, by_key):
            found[name] = ACCIDENTALS[pitch.alter]
        in_force[pitch.index] = pitch.alter
    return found
