"""Letters for key numbers: what a key would write where a file only knows keys of a keyboard."""

from __future__ import annotations

from playalong.music.pitch import LETTER_SEMITONES, LETTERS, Pitch

# Twelve names in a row on the line of fifths, from so far above the signature, for notes outside
# the scale: in major from the lowered third to the raised fifth, in minor from its lowered second
# to its raised fourth (common practice).
_LOWEST_FIFTH = {"major": -3, "minor": -2}
_NAMES = 12
_MOST_ALTERED = 2


def spelled(key: int, following: int | None, signature: int, mode: str) -> Pitch:
    """A key of the keyboard by a key signature. A note of the scale has the scale's name; another
    is named by the step it leads to, raised on its way up and lowered on its way down."""
    names, scale = _names(key), range(signature - 1, signature + 6)
    lowest = signature + _LOWEST_FIFTH.get(mode, _LOWEST_FIFTH["major"])
    usual = next(pitch for pitch in names if pitch.fifths in range(lowest, lowest + _NAMES))
    own = next((pitch for pitch in names if pitch.fifths in scale), None)
    if own or following is None or abs(following - key) != 1:
        return own or usual
    goal = next((pitch for pitch in _names(following) if pitch.fifths in scale), None)
    if goal is None:
        return usual
    return goal.moved(1 if goal.key_number < key else -1, key - following)


def _names(key: int) -> list[Pitch]:
    """Every name of a key with two sharps or flats at most."""
    found = []
    for letter in range(len(LETTERS)):
        octave, rest = divmod(key - LETTER_SEMITONES[letter] + 6, 12)
        if abs(rest - 6) <= _MOST_ALTERED:
            found.append(Pitch(7 * (octave - 1) + letter, rest - 6))
    return found
