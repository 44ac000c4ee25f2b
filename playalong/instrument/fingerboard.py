"""From finger to pitch and from pitch to place, on violin and viola.

Finger f of position p stands (p - 1) + f letters above the open string, altered as the key
says (Grove's Dictionary, "Positions"). In half position the first finger stands a half step
above the open string on that string's own letter, raised; fingers 2 to 4 stand one letter
below first position. The place on the string follows from the frequency: x = L (1 - f0 / f).
"""

from __future__ import annotations

from dataclasses import dataclass

from playalong.errors import PlayalongError
from playalong.instrument.instruments import Instrument
from playalong.music.key import Key
from playalong.music.pitch import Pitch
from playalong.music.temperament import Tuning

REACH = {1: -1, 3: 1, 4: 1}  # letters by which `x` moves a finger
STRETCH_SEMITONES = 6  # widest distance between two fingers of one hand before it is a stretch
HIGHEST_POSITION = 21


class FingerError(PlayalongError):
    """A finger that cannot stop the string where it is asked to."""


@dataclass(frozen=True)
class Stop:
    """One finger on one string: what the left hand does for a note."""

    string: str
    position: int
    finger: int
    pitch: Pitch


@dataclass(frozen=True)
class Hand:
    """A left hand on an instrument, in a key and a tuning."""

    instrument: Instrument
    key: Key
    tuning: Tuning

    def frame_pitch(self, string: str, position: int, finger: int) -> Pitch:
        """Where a finger stands in a position by the key alone, neither reaching nor altered."""
        open_string = self.instrument.string(string)
        if position == 0 and finger == 1:
            return Pitch(open_string.index, open_string.alter + 1)
        return self.key.pitch(open_string.index + position - 1 + finger)

    def stopped_pitch(
        self, string: str, position: int, finger: int, *, alter: str = "", reach: bool = False
    ) -> Pitch:
        """What a finger plays; `alter` is ``#``, ``b`` or ``n`` against the signature.

        FingerError where the finger cannot stop that place, with what would work.
        """
        frame = self.frame_pitch(string, position, finger)
        if position == 0 and finger <= 2:
            self._check_half_position(string)
        if reach:
            frame = self.key.pitch(frame.index + REACH[finger])
        change = {"": 0, "#": 1, "b": -1, "n": -frame.alter}[alter]
        pitch = Pitch(frame.index, frame.alter + change)
        self.check_on_string(string, pitch, f"finger {finger} in position {position}")
        return pitch

    def hz(self, pitch: Pitch) -> float:
        return self.tuning.hz(pitch, self.key)

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
                f"{self._highest_offer(string)}"
            )

    def _check_half_position(self, string: str) -> None:
        first, second = (self.frame_pitch(string, 0, finger) for finger in (1, 2))
        if first.key_number >= second.key_number:
            raise FingerError(
                f"in half position on the {string} string fingers 1 and 2 would share a place "
                f"({first} and {second}) in {self.key}; first position (p1:) plays {second} with "
                "finger 1"
            )

    def _lower_string_offer(self, pitch: Pitch) -> str:
        for name, string in zip(self.instrument.string_names, self.instrument.strings, strict=True):
            if string.key_number == pitch.key_number:
                return f"play it as the open {name} string (0), or a finger higher"
            if string.key_number < pitch.key_number:
                return f"it can be stopped on the {name} string"
        return f"the lowest note here is {self.instrument.lowest}"

    def _highest_offer(self, string: str) -> str:
        if not self.instrument.has_hand:
            return "write it lower"
        length, end = self.instrument.string_length_mm, self.instrument.fingerboard_mm
        highest = [
            position
            for position in range(1, HIGHEST_POSITION + 1)
            if place_mm(
                length, self.open_hz(string), self.hz(self.frame_pitch(string, position, 4))
            )
            <= end
        ]
        return f"position {highest[-1]} is the highest in which all four fingers have a place"


def place_mm(length_mm: float, open_hz: float, hz: float) -> float:
    """Distance from the nut at which a string of `length_mm` sounds `hz`."""
    return length_mm * (1 - open_hz / hz)


def hz_at_place(length_mm: float, open_hz: float, mm: float) -> float:
    """What a string sounds when stopped `mm` from the nut."""
    return open_hz / (1 - mm / length_mm)
