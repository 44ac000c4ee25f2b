"""The fingerboard: an instrument's strings, tuned and in a key, with a place for each pitch.

Which finger stops what is the hand's; here a pitch becomes a frequency and a place on the string,
x = L (1 - f0 / f), and what lies beyond nut or fingerboard is refused.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property
from itertools import takewhile

from playalong.errors import PlayalongError
from playalong.instrument.hand import FingerError, Hand, Stop
from playalong.instrument.instruments import Instrument
from playalong.music.key import Key
from playalong.music.pitch import Pitch
from playalong.music.temperament import Tuning


@dataclass(frozen=True)
class Fingerboard:
    """An instrument's strings, in a key and a tuning.

    The key is that which is read, and the instrument's transposition is spelled for it.
    """

    instrument: Instrument
    key: Key
    tuning: Tuning

    @cached_property
    def sounding_key(self) -> Key:
        """The key that is heard."""
        return self.instrument.transposition.sounding_key(self.key)

    @property
    def hand(self) -> Hand:
        """The hand that plays here; PlayalongError where none is modelled."""
        if self.instrument.hand is None:
            raise PlayalongError(f"fingers of the {self.instrument.name} are not known here")
        return self.instrument.hand

    @cached_property
    def rising(self) -> Fingerboard:
        """The same in the form that the key has on the way up."""
        return replace(self, key=self.key.rising)

    def standing(self, string: str, position: int, finger: int) -> Pitch | None:
        """Where a finger stands in a position by the key alone, neither extended nor altered.

        None where the hand has no place for it there.
        """
        return self.hand.standing(self.instrument.string(string), position, finger, self.key)

    def stop(
        self, string: str, position: int, finger: int, *, alter: str = "", extended: bool = False
    ) -> Stop:
        """What a finger stops; `alter` is ``#``, ``b`` or ``n`` against the signature.

        FingerError where the finger cannot stop that place, with what would work.
        """
        hand, open_string = self.hand, self.instrument.string(string)
        hand.check(string, open_string, position, finger, self.key)
        where = f"finger {finger} in position {position}"
        if extended:
            pitch: Pitch | None = hand.extended(open_string, position, finger, self.key)
        else:
            pitch = hand.standing(open_string, position, finger, self.key)
        if pitch is None:
            raise FingerError(f"{where} on the {string} string has no place; {self._offer(string)}")
        change = {"": 0, "#": 1, "b": -1, "n": -pitch.alter}[alter]
        pitch = Pitch(pitch.index, pitch.alter + change)
        self.check_on_string(string, pitch, where)
        return Stop(string, position, finger, pitch)

    def hz(self, pitch: Pitch) -> float:
        return self.tuning.hz(pitch, self.sounding_key)

    def open_hz(self, string: str) -> float:
        return self.tuning.open_hz(self.instrument.string(string))

    def place_mm(self, string: str, pitch: Pitch) -> float:
        """Distance from the nut, along the string, at which a pitch is stopped."""
        return place_mm(self.instrument.string_length_mm, self.open_hz(string), self.hz(pitch))

    def check_on_string(self, string: str, pitch: Pitch, who: str) -> None:
        """FingerError unless a finger could stop `pitch` on `string`."""
        open_string = self.instrument.string(string)
        if pitch.key_number <= open_string.key_number:
            raise FingerError(
                f"{who} on the {string} string would sound {pitch}, at or below the open string "
                f"{open_string}; {self._lower_string_offer(pitch)}"
            )
        place = self.place_mm(string, pitch)
        if place > self.instrument.fingerboard_mm:
            raise FingerError(
                f"{who} on the {string} string would sound {pitch}, {place:.0f} mm from the nut, "
                f"beyond the end of the fingerboard at {self.instrument.fingerboard_mm:.0f} mm; "
                f"{self._offer(string)}"
            )

    def _lower_string_offer(self, pitch: Pitch) -> str:
        for name, string in zip(self.instrument.string_names, self.instrument.strings, strict=True):
            if string.key_number == pitch.key_number:
                return f"play it as the open {name} string (0), or a finger higher"
            if string.key_number < pitch.key_number:
                return f"it can be stopped on the {name} string"
        return f"the lowest note here is {self.instrument.lowest}"

    def _offer(self, string: str) -> str:
        """The highest position in which the whole hand has a place."""
        if self.instrument.hand is None:
            return "write it lower"
        last_finger = self.hand.fingers[-1]

        def has_place(position: int) -> bool:
            pitch = self.standing(string, position, last_finger)
            return (
                pitch is not None and self.place_mm(string, pitch) <= self.instrument.fingerboard_mm
            )

        positions = list(takewhile(has_place, range(1, self.hand.highest_position + 1)))
        return f"position {positions[-1]} is the highest in which all four fingers have a place"


def place_mm(length_mm: float, open_hz: float, hz: float) -> float:
    """Distance from the nut at which a string of `length_mm` sounds `hz`."""
    return length_mm * (1 - open_hz / hz)


def hz_at_place(length_mm: float, open_hz: float, mm: float) -> float:
    """What a string sounds when stopped `mm` from the nut."""
    return open_hz / (1 - mm / length_mm)
