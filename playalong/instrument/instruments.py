"""Instruments: strings, clef, string length, end of the fingerboard, General MIDI voice.

Lengths vary by maker; the figures are common practice. A string length of the player's own
scales the fingerboard with it. Instruments without a modelled hand are written in pitches.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from playalong.errors import PlayalongError, nearest, short
from playalong.instrument.hand import VIOLIN_HAND, Hand
from playalong.music.pitch import LETTERS, Pitch

ROMAN = ("I", "II", "III", "IV", "V", "VI")
LENGTH_RANGE = (0.5, 1.15)  # a string length of one's own, as a share of the full size


class InstrumentError(PlayalongError):
    """An instrument, string or length that the tables do not hold."""


@dataclass(frozen=True)
class Instrument:
    """What the drill is played on. `strings` are sounding pitches, the highest first."""

    name: str
    clef: str  # treble, alto, tenor, bass
    program: int  # General MIDI, from 0; a voice that the bank has
    lowest: Pitch  # sounding
    highest: Pitch
    strings: tuple[Pitch, ...] = ()
    string_length_mm: float = 0.0
    fingerboard_mm: float = 0.0  # from the nut to the end of the fingerboard
    hand: Hand | None = None  # None where fingers and positions are not modelled
    octaves: int = 0  # sounding octave less written octave

    @property
    def string_names(self) -> tuple[str, ...]:
        return tuple(LETTERS[string.letter] for string in self.strings)

    def string(self, name: str) -> Pitch:
        """The open string called `name`, as it sounds."""
        if name not in self.string_names:
            if not self.strings:
                raise InstrumentError(f"no strings are known for {self.name}; leave the string out")
            known = ", ".join(self.string_names)
            raise InstrumentError(
                f'{self.name} has no "{short(name)}" string; its strings are {known}'
            )
        return self.strings[self.string_names.index(name)]

    def as_sounding(self, written: Pitch) -> Pitch:
        """A pitch as the player reads it -> as it sounds."""
        return written.octaves_up(self.octaves)

    def as_written(self, sounding: Pitch) -> Pitch:
        """A sounding pitch as the player of this instrument reads it."""
        return sounding.octaves_up(-self.octaves)

    def string_number(self, name: str) -> int:
        """1 for the highest string."""
        return self.string_names.index(name) + 1

    def roman(self, name: str) -> str:
        return ROMAN[self.string_number(name) - 1]

    def with_string_length(self, length_mm: float) -> Instrument:
        """The same instrument in another size; the fingerboard scales with the string."""
        low, high = (round(self.string_length_mm * share) for share in LENGTH_RANGE)
        if not self.strings:
            raise InstrumentError(
                f"no strings are known for {self.name}; leave string_length_mm out"
            )
        if not low <= length_mm <= high:
            raise InstrumentError(
                f"string_length_mm = {length_mm:g} is outside {low} to {high} mm for {self.name}"
            )
        scaled = self.fingerboard_mm * length_mm / self.string_length_mm
        return replace(self, string_length_mm=length_mm, fingerboard_mm=scaled)


def _bowed(
    name: str,
    strings: str,
    clef: str,
    length_mm: float,
    fingerboard_mm: float,
    program: int,
    highest: str,
    *,
    hand: Hand | None = None,
    octaves: int = 0,
) -> Instrument:
    pitches = tuple(Pitch.of(string) for string in strings.split())
    return Instrument(
        name,
        clef,
        program,
        pitches[-1],
        Pitch.of(highest),
        pitches,
        length_mm,
        fingerboard_mm,
        hand,
        octaves,
    )


def _other(
    name: str, clef: str, program: int, lowest: str, highest: str, octaves: int = 0
) -> Instrument:
    return Instrument(name, clef, program, Pitch.of(lowest), Pitch.of(highest), octaves=octaves)


# Transposing winds are written at concert pitch. Ranges are generous: a drill is not refused
# for a note that a good player has.
INSTRUMENTS = {
    instrument.name: instrument
    for instrument in (
        _bowed("violin", "E5 A4 D4 G3", "treble", 328, 270, 40, "A7", hand=VIOLIN_HAND),
        _bowed("viola", "A4 D4 G3 C3", "alto", 375, 305, 41, "C7", hand=VIOLIN_HAND),
        _bowed("cello", "A3 D3 G2 C2", "bass", 690, 580, 42, "E6"),
        _bowed("bass", "G2 D2 A1 E1", "bass", 1060, 870, 43, "B4", octaves=-1),
        _other("soprano", "treble", 40, "A3", "F6"),
        _other("alto", "treble", 41, "E3", "C6"),
        _other("tenor", "treble", 41, "A2", "D5", octaves=-1),
        _other("baritone", "bass", 42, "E2", "B4"),
        _other("voice", "treble", 41, "E2", "F6"),
        _other("flute", "treble", 40, "B3", "F7"),
        _other("recorder", "treble", 40, "C4", "D7"),
        _other("oboe", "treble", 40, "A3", "A6"),
        _other("clarinet", "treble", 41, "D3", "C7"),
        _other("bassoon", "bass", 42, "A1", "G5"),
        _other("horn", "treble", 41, "B1", "F5"),
        _other("trumpet", "treble", 40, "E3", "E6"),
        _other("trombone", "bass", 42, "E1", "F5"),
        _other("guitar", "treble", 41, "E2", "E6", octaves=-1),
    )
}


HIGHEST_POSITION = max(each.hand.highest_position for each in INSTRUMENTS.values() if each.hand)


def with_hands() -> tuple[str, ...]:
    """The names of the instruments whose hand is modelled."""
    return tuple(each.name for each in INSTRUMENTS.values() if each.hand)


def find_instrument(name: str) -> Instrument:
    """The instrument of that name; InstrumentError offers the nearest."""
    try:
        return INSTRUMENTS[name.strip().lower()]
    except KeyError:
        hint = nearest(name, INSTRUMENTS)
        raise InstrumentError(f'"{short(name)}" is not an instrument known here{hint}') from None
