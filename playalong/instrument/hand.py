"""Hands: what each finger stops in each position, one table for each way of fingering.

A position lies so many letters above the open string, and each finger stands so many letters
above its position; the key says where on its letter (Grove's Dictionary, "Positions"). In half
position the violin's first finger stands a half step above the open string, on that string's own
letter, raised; fingers 2 to 4 stand one letter below first position.

A hand knows letters, fingers and keys. Strings, tuning and millimetres are the fingerboard's.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Protocol

from playalong.errors import PlayalongError
from playalong.music.key import Key
from playalong.music.pitch import Pitch


class FingerError(PlayalongError):
    """A finger that cannot stop the string where it is asked to."""


@dataclass(frozen=True)
class Stop:
    """One finger on one string: what the left hand does for a note."""

    string: str
    position: int
    finger: int
    pitch: Pitch


class Hand(Protocol):
    """A way of fingering. `open_string` is the pitch of the string in question."""

    @property
    def fingers(self) -> tuple[int, ...]:
        """Those that stop a string, the lowest first."""

    @property
    def extending(self) -> tuple[int, ...]:
        """The fingers that reach beyond their place (`x`)."""

    @property
    def highest_position(self) -> int: ...

    def standing(self, open_string: Pitch, position: int, finger: int, key: Key) -> Pitch | None:
        """Where a finger stands by the key alone; None where it has no place in that position."""

    def extended(self, open_string: Pitch, position: int, finger: int, key: Key) -> Pitch:
        """Where one of the extending fingers reaches."""

    def check(self, string: str, open_string: Pitch, position: int, finger: int, key: Key) -> None:
        """FingerError where the hand cannot stand so that this finger stops the string."""

    def holds(self, open_string: Pitch, stop: Stop, key: Key) -> bool:
        """Whether a finger reaches a pitch without the hand leaving its position."""

    def position_of(self, open_string: Pitch, pitch: Pitch, finger: int) -> int:
        """The position that puts a finger on a pitch; it may lie outside the hand's range."""

    def climbed(self, position: int, letters: int) -> int:
        """The position so many letters up the climb."""

    def candidates(self, open_string: Pitch, pitch: Pitch) -> Iterator[tuple[int, int]]:
        """Position and finger of every way to stop a pitch, from first position upward."""

    def strains(self, one: Stop, two: Stop) -> Iterator[str]:
        """What is unusual about two stops, one after the other, in one position."""


@dataclass(frozen=True)
class LetterHand:
    """A hand whose fingers stand on neighbouring letters: violin and viola."""

    letters: Mapping[int, int]  # finger -> letters above its position
    extensions: Mapping[int, int]  # finger -> letters by which it reaches
    highest_position: int
    widest_semitones: int  # between two fingers before the hand is stretched

    @property
    def fingers(self) -> tuple[int, ...]:
        return tuple(self.letters)

    @property
    def extending(self) -> tuple[int, ...]:
        return tuple(self.extensions)

    def standing(self, open_string: Pitch, position: int, finger: int, key: Key) -> Pitch:
        index = open_string.index + position + self.letters[finger]
        if index == open_string.index:  # half position
            return Pitch(index, open_string.alter + 1)
        return key.pitch(index)

    def extended(self, open_string: Pitch, position: int, finger: int, key: Key) -> Pitch:
        stands = self.standing(open_string, position, finger, key)
        return key.pitch(stands.index + self.extensions[finger])

    def check(self, string: str, open_string: Pitch, position: int, finger: int, key: Key) -> None:
        if not 0 <= position <= self.highest_position:
            raise FingerError(
                f"the climb leads to position {position}; "
                f"positions go from 0 (half position) to {self.highest_position}"
            )
        lowest, next_finger = self.fingers[:2]
        if position == 0 and finger in (lowest, next_finger):
            first = self.standing(open_string, 0, lowest, key)
            second = self.standing(open_string, 0, next_finger, key)
            if first.key_number >= second.key_number:
                raise FingerError(
                    f"in half position on the {string} string fingers {lowest} and {next_finger} "
                    f"would share a place ({first} and {second}) in {key}; first position (p1:) "
                    f"plays {second} with finger {lowest}"
                )

    def holds(self, open_string: Pitch, stop: Stop, key: Key) -> bool:
        """At the closest a finger for each half step; as far as it reaches; and an accidental."""
        lowest = self.fingers[0]
        closest = self.standing(open_string, stop.position, lowest, key).key_number
        places = [self.standing(open_string, stop.position, stop.finger, key).key_number]
        if stop.finger in self.extensions:
            reach = self.extended(open_string, stop.position, stop.finger, key)
            places.append(reach.key_number)
        low = min(closest + stop.finger - lowest, *places)
        return low - 1 <= stop.pitch.key_number <= max(places) + 1

    def position_of(self, open_string: Pitch, pitch: Pitch, finger: int) -> int:
        return pitch.index - open_string.index - self.letters[finger]

    def climbed(self, position: int, letters: int) -> int:
        return position + letters

    def candidates(self, open_string: Pitch, pitch: Pitch) -> Iterator[tuple[int, int]]:
        for finger in reversed(self.fingers):
            position = self.position_of(open_string, pitch, finger)
            if 1 <= position <= self.highest_position:
                yield position, finger

    def strains(self, one: Stop, two: Stop) -> Iterator[str]:
        apart = two.pitch.key_number - one.pitch.key_number
        if one.finger != two.finger and (two.finger - one.finger) * apart <= 0:
            low, high = sorted((one, two), key=lambda stop: stop.finger)
            yield (
                f"finger {high.finger} ({high.pitch}) does not sound above "
                f"finger {low.finger} ({low.pitch})"
            )
        if abs(apart) > self.widest_semitones:
            yield f"{one.pitch} to {two.pitch} stretches the hand beyond its frame"


VIOLIN_HAND = LetterHand(
    letters=MappingProxyType({1: 0, 2: 1, 3: 2, 4: 3}),
    extensions=MappingProxyType({1: -1, 3: 1, 4: 1}),
    highest_position=21,
    widest_semitones=6,
)
