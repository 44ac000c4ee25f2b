"""An instrument: strings, sizes, transposition, clef, length of the string, General MIDI voice.

A string length of the player's own scales the fingerboard with it. Instruments without a modelled
hand are written in pitches.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

from playalong.errors import PlayalongError, short
from playalong.guidance import PLAYER, SINGER, Manner
from playalong.instrument.hand import Hand
from playalong.music.key import Key
from playalong.music.pitch import LETTERS, Pitch
from playalong.music.transposition import AS_WRITTEN, Transposition

ROMAN = ("I", "II", "III", "IV", "V", "VI")
LENGTH_RANGE = (0.5, 1.15)  # a string length of one's own, as a share of the full size
FURTHEST_TUNING = 7  # semitones that a string may be tuned from its usual pitch


class InstrumentError(PlayalongError):
    """An instrument, string, size or tuning that the tables do not hold."""


@dataclass(frozen=True)
class Instrument:
    """What the drill is played on. `strings` are sounding pitches, the highest first."""

    name: str
    clef: str  # treble, alto, tenor, bass
    program: int  # General MIDI, from 0; a voice that the bank has
    lowest: Pitch  # sounding
    highest: Pitch
    strings: tuple[Pitch, ...] = ()
    string_names: tuple[str, ...] = ()
    string_length_mm: float = 0.0
    fingerboard_mm: float = 0.0  # from the nut to the end of the fingerboard
    hand: Hand | None = None  # None where fingers and positions are not modelled
    hands: Mapping[str, Hand] = field(default_factory=dict, hash=False)  # others, by their fingers
    transposition: Transposition = AS_WRITTEN
    # Pitches that it is made in, by name; and string lengths in mm, by the name of the size.
    pitches: Mapping[str, Transposition] = field(default_factory=dict, hash=False)
    sizes: Mapping[str, float] = field(default_factory=dict, hash=False)
    is_voice: bool = False
    details: str = ""  # size, pitch and tuning where they are told: `in Bb`

    @property
    def full_name(self) -> str:
        """In ASCII: `clarinet in Bb`, `violin, 1/2 size`."""
        return self.name + self.details

    @property
    def manner(self) -> Manner:
        """How its player is spoken to."""
        return SINGER if self.is_voice else PLAYER

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
        return self.transposition.sounding(written)

    def as_written(self, sounding: Pitch) -> Pitch:
        """A sounding pitch as the player of this instrument reads it."""
        return self.transposition.written(sounding)

    def in_key(self, key: Key) -> Instrument:
        """The same, its transposition spelled for what is read in a key."""
        return replace(self, transposition=self.transposition.within(key))

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

    def with_size(self, size: str) -> Instrument:
        """The same instrument in a size that is called so: `1/2`."""
        if not self.sizes:
            raise InstrumentError(f"no sizes are known for {self.name}; leave size out")
        if size not in self.sizes:
            known = ", ".join(self.sizes)
            raise InstrumentError(f'"{size}" is not a size of the {self.name}; there are {known}')
        sized = self.with_string_length(self.sizes[size])
        return replace(sized, details=f"{self.details}, {size} size")

    def with_hand(self, fingers: str) -> Instrument:
        """The same instrument played with another hand, which is called by its fingers: `1-2-4`."""
        if not self.hands:
            raise InstrumentError(f"one hand is known for {self.name}; leave hand out")
        if fingers not in self.hands:
            known = ", ".join(self.hands)
            raise InstrumentError(
                f'"{short(fingers)}" is not a hand of the {self.name}; there are {known}'
            )
        return replace(self, hand=self.hands[fingers])

    def made_in(self, pitch: str) -> Instrument:
        """The same instrument made in another pitch, `A`; it is read as before."""
        if pitch not in self.pitches:
            if not self.pitches:
                raise InstrumentError(f"the {self.name} is made in one pitch only; leave it out")
            known = ", ".join(self.pitches)
            raise InstrumentError(f'the {self.name} is known here in {known}, not in "{pitch}"')
        new = self.pitches[pitch]
        low, high = (new.sounding(self.as_written(end)) for end in (self.lowest, self.highest))
        changed = replace(self, transposition=new, lowest=low, highest=high)
        return replace(changed, details=f" in {pitch}")

    def tuned(self, strings: Sequence[Pitch]) -> Instrument:
        """The same instrument with its strings tuned otherwise, or with more of them.

        As many strings as before keep their names; others are called by their letters.
        """
        if not self.strings:
            raise InstrumentError(f"no strings are known for {self.name}; leave strings out")
        tuned = tuple(sorted(strings, key=lambda pitch: -pitch.key_number))
        if len({pitch.key_number for pitch in tuned}) < len(tuned):
            raise InstrumentError("two strings are tuned to one pitch")
        if len(tuned) > len(ROMAN):
            raise InstrumentError(f"{len(tuned)} strings are too many; {len(ROMAN)} at most")
        names = self.string_names
        if len(tuned) == len(names):
            self._check_tuning(tuned)
        else:
            names = tuple(LETTERS[pitch.letter] for pitch in tuned)
            if len(set(names)) < len(names):
                told = ", ".join(pitch.name for pitch in tuned)
                raise InstrumentError(f"two of {told} would have one name; strings go by letters")
        told = " ".join(pitch.name for pitch in tuned)
        details = f"{self.details}, tuned {told}"
        return replace(self, strings=tuned, string_names=names, lowest=tuned[-1], details=details)

    def _check_tuning(self, tuned: Sequence[Pitch]) -> None:
        for name, usual, pitch in zip(self.string_names, self.strings, tuned, strict=True):
            if abs(pitch.key_number - usual.key_number) > FURTHEST_TUNING:
                raise InstrumentError(
                    f"{pitch} is more than a fifth from {usual}, the usual {name} string of the "
                    f"{self.name}; no string bears that"
                )
