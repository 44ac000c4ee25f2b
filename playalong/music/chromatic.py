"""Notes outside a key, spelled as its harmonic chromatic scale has them (common practice).

That scale goes from five fifths below the tonic to six above it: C has D flat, E flat, F sharp,
A flat and B flat.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import lru_cache

from playalong.music.key import Key
from playalong.music.pitch import Pitch

BELOW, ABOVE = -5, 6  # fifths from the tonic
_NEAR = 2  # letters on either side in which a spelling may lie
_ACCIDENTALS = {"#": 1, "b": -1, "n": 0}


@lru_cache(maxsize=4096)  # a hand asks for each of its places many times
def spelled(key_number: int, key: Key, mark: str = "", *, near: Pitch) -> Pitch | None:
    """A MIDI key as a note of `key`, else of its chromatic scale, on a letter near another.

    A mark, ``#``, ``b`` or ``n``, asks for that accidental instead; None where no note has it.
    """
    letters = range(near.index - _NEAR, near.index + _NEAR + 1)
    if mark:
        notes = iter([Pitch(index, _ACCIDENTALS[mark]) for index in letters])
    else:
        notes = _chromatic(letters, key)
    return next((note for note in notes if note.key_number == key_number), None)


def _chromatic(letters: range, key: Key) -> Iterator[Pitch]:
    yield from (key.pitch(index) for index in letters)
    for index in letters:
        for alter in range(-2, 3):
            note = Pitch(index, alter)
            if BELOW <= note.fifths - key.tonic_fifths <= ABOVE:
                yield note
