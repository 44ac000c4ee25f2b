"""The fingerboard: an instrument's strings, tuned and in a key, with a place for each pitch.

Which finger stops what is the hand's; here a pitch becomes a frequency and a place on the string,
x = L (1 - f0 / f), and what lies beyond nut or fingerboard is refused.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import takewhile

from playalong.errors import PlayalongError
from playalong.instrument.hand import FingerError, Hand, Named, Place, Stop
from playalong.instrument.instruments import Instrument
from playalong.instrument.position import Position, finger_name
from playalong.music.key import Key
from playalong.music.pitch import Pitch
from playalong.music.temperament import Tuning

_COUNTS = {3: "three", 4: "four"}
TOLERANCE_MM = 0.5  # a hand as wide as its frame is no stretch, in any temperament


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

    def in_key(self, key: Key) -> Fingerboard:
        """The same in a key to which a passage changes."""
        return self if key == self.key else replace(self, key=key)

    @cached_property
    def rising(self) -> Fingerboard:
        """The same in the form that the key has on the way up."""
        return replace(self, key=self.key.rising)

    def standing(self, string: str, position: Position, finger: int) -> Pitch | None:
        """Where a finger stands in a position by the key alone, neither extended nor altered.

        None where the hand has no place for it there.
        """
        return self.hand.standing(self.instrument.string(string), position, finger, self.key)

    def stop(
        self,
        string: str,
        position: Position,
        finger: int,
        *,
        alter: str = "",
        extended: bool = False,
    ) -> Stop:
        """What a written finger stops, and with which finger; `alter` is ``#``, ``b`` or ``n``.

        FingerError where the finger cannot stop that place, with what would work.
        """
        hand, open_string = self.hand, self.instrument.string(string)
        hand.check(string, open_string, position, finger, self.key)
        where = f"finger {finger_name(finger)} in position {position}"
        played = hand.played(
            open_string, position, finger, self.key, alter=alter, extended=extended
        )
        if played is None:
            raise FingerError(f"{where} on the {string} string has no place; {self._offer(string)}")
        finger, pitch = played
        self.check_on_string(string, pitch, where)
        return Stop(string, position, finger, pitch)

    def is_same_hand(self, string: str, one: Position, two: Position) -> bool:
        """Whether the hand stays where it is from one position to another."""
        return self.hand.is_same(self.instrument.string(string), one, two, self.key)

    def named(self, string: str, position: Position) -> Named:
        """What players call the hand in a position on a string."""
        return self.hand.named(self.instrument.string(string), position, self.key)

    def places(self, string: str) -> Iterator[Place]:
        """Each place of the hand on a string."""
        return iter(self._places[string])

    @cached_property
    def _places(self) -> dict[str, tuple[Place, ...]]:
        strings = self.instrument.string_names
        return {
            name: tuple(self.hand.places(self.instrument.string(name), self.key))
            for name in strings
        }

    def height(self, string: str, position: Position) -> int:
        """How far up its string the hand stands, on the hand's own scale."""
        return self.hand.height(self.instrument.string(string), position, self.key)

    def strains(self, one: Stop, two: Stop) -> Iterator[str]:
        """What is unusual about two stops, one after the other, in one position; as read."""
        first, second = (
            replace(stop, pitch=self.instrument.as_written(stop.pitch)) for stop in (one, two)
        )
        yield from self.hand.strains(first, second)
        frame = self.hand.widest_frame
        if frame is None:
            return
        low, high = (self.instrument.string_length_mm * (1 - 2 ** (-step / 12)) for step in frame)
        wide = abs(self.place_mm(two.string, two.pitch) - self.place_mm(one.string, one.pitch))
        if wide > high - low + TOLERANCE_MM:
            yield (
                f"{first.pitch} to {second.pitch} is {wide:.0f} mm, a stretch: the widest hand "
                f"that is taught first spans {high - low:.0f} mm"
            )

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

        def has_place(number: int) -> bool:
            fingers = (self.standing(string, Position(number), each) for each in range(4, 0, -1))
            pitch = next((each for each in fingers if each), None)
            return (
                pitch is not None and self.place_mm(string, pitch) <= self.instrument.fingerboard_mm
            )

        positions = list(takewhile(has_place, range(1, self.hand.highest_position + 1)))
        count = _COUNTS[len(self.hand.fingers)]
        return f"position {positions[-1]} is the highest in which all {count} fingers have a place"


def place_mm(length_mm: float, open_hz: float, hz: float) -> float:
    """Distance from the nut at which a string of `length_mm` sounds `hz`."""
    return length_mm * (1 - open_hz / hz)


def hz_at_place(length_mm: float, open_hz: float, mm: float) -> float:
    """What a string sounds when stopped `mm` from the nut."""
    return open_hz / (1 - mm / length_mm)
