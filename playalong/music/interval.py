"""Names of intervals between spelled pitches: `minor third`, `augmented second`."""

from __future__ import annotations

from playalong.music.pitch import LETTER_SEMITONES, Pitch

_NUMBERS = ("unison", "second", "third", "fourth", "fifth", "sixth", "seventh", "octave")
_COMPOUND = ("", "ninth", "tenth", "eleventh", "twelfth", "thirteenth", "fourteenth")
_PERFECT = (0, 3, 4)  # letters apart, within an octave, whose natural size is called perfect
_COUNTS = {2: "two", 3: "three", 4: "four"}
_OF_PERFECT = {-1: "diminished", 0: "perfect", 1: "augmented"}
_OF_MAJOR = {-2: "diminished", -1: "minor", 0: "major", 1: "augmented"}


def interval_name(low: Pitch, high: Pitch) -> str:
    """The interval between two pitches, whichever is given first; octaves beyond one are told."""
    if (high.index, high.key_number) < (low.index, low.key_number):
        low, high = high, low
    letters, semitones = high.index - low.index, high.key_number - low.key_number
    octaves, within = divmod(letters, 7)
    size = semitones - 12 * octaves - LETTER_SEMITONES[within]
    names = _OF_PERFECT if within in _PERFECT else _OF_MAJOR
    quality = names.get(size, "doubly augmented" if size > 0 else "doubly diminished")
    if octaves > 1 and not within and not size:
        return f"{_COUNTS.get(octaves, octaves)} octaves"
    if octaves and not within:
        name, octaves = "octave", octaves - 1
    else:
        name = _NUMBERS[within]
    if octaves == 1 and within:
        name, octaves = _COMPOUND[within], 0
    plain = name if quality == "perfect" and name in ("unison", "octave") else f"{quality} {name}"
    if not octaves:
        return plain
    return f"{plain} and {'an octave' if octaves == 1 else f'{octaves} octaves'}"


def step_name(one: Pitch, two: Pitch) -> str:
    """`half step` and `whole step` between neighbouring letters, else the interval."""
    if abs(two.index - one.index) == 1:
        semitones = abs(two.key_number - one.key_number)
        if semitones in (1, 2):
            return ("half step", "whole step")[semitones - 1]
    return interval_name(one, two)
