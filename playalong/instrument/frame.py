"""The shapes that a hand takes along the string, and a hand in one of them.

Position p lies p letters above the open string, and each finger so many letters above its
position; the key says where on its letter (Grove's Dictionary, "Positions"). In a **closed**
shape the fingers stand a half step apart: two of them share a letter, and the key says which of
the two plays it. Where the key puts the outer fingers a half step further apart than the closed
hand, an extending hand opens between its first two fingers.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property

from playalong.instrument.position import Position
from playalong.music.chromatic import spelled
from playalong.music.key import Key
from playalong.music.pitch import Pitch


@dataclass(frozen=True)
class Shape:
    """How the fingers stand over a stretch of positions."""

    positions: range
    letters: Mapping[int, int]  # finger -> letters above the position
    # finger -> half steps above the first, in a closed hand or a fixed place; else by the key.
    half_steps: Mapping[int, int] = field(default_factory=dict)
    reaches: Mapping[int, int] = field(default_factory=dict)  # finger -> how far its x reaches
    is_closed: bool = False  # a finger for each half step: an x reaches half steps, not letters
    extends: bool = False
    rare: frozenset[int] = frozenset()  # fingers that play here, but have no place of their own

    @cached_property
    def fingers(self) -> tuple[int, ...]:
        """From the lowest place up."""
        return tuple(sorted(self.letters))

    @cached_property
    def sharing(self) -> tuple[int, ...]:
        """The fingers of which the key chooses one, for the letter that they share."""
        shared = Counter(self.letters.values())
        return tuple(finger for finger in self.fingers if shared[self.letters[finger]] > 1)


@dataclass(frozen=True)
class Frame:
    """A hand in one position on one string, in one key."""

    shape: Shape
    open_string: Pitch
    position: Position
    key: Key
    fixed_home: int | None  # the MIDI key of the first finger in a fixed place; else None

    @cached_property
    def home(self) -> int:
        """The MIDI key of the first finger of the closed hand."""
        if self.fixed_home is not None:
            return self.fixed_home
        return self.by_letter(self.shape.fingers[0]).key_number + self.is_open

    @property
    def is_open(self) -> bool:
        """Whether the key puts the outer fingers further apart than the closed hand has them."""
        shape, lowest, highest = self.shape, self.shape.fingers[0], self.shape.fingers[-1]
        if not shape.extends or self.fixed_home is not None:
            return False
        low, high = (self.by_letter(finger).key_number for finger in (lowest, highest))
        return high - low > shape.half_steps[highest]

    @property
    def lowest(self) -> int | None:
        """The MIDI key of the lowest finger."""
        stands = self.standing(self.shape.fingers[0])
        return None if stands is None else stands.key_number

    def by_letter(self, finger: int, reach: int = 0) -> Pitch:
        """What the key has on a finger's letter.

        A first finger on the open string's own letter stands a half step above it.
        """
        above = self.position.number + self.shape.letters[finger] + reach
        if above == reach == 0:
            return Pitch(self.open_string.index, self.open_string.alter + 1)
        return self.key.pitch(self.open_string.index + above)

    def standing(self, finger: int) -> Pitch | None:
        """Where a finger stands; None where it has no place of its own.

        The outer fingers of a closed hand stand where the key has their letters, those between
        where the hand has them, in the key or not.
        """
        shape = self.shape
        if finger not in shape.letters or finger in shape.rare:
            return None
        if self.fixed_home is not None:
            return self._fixed(finger)
        by_letter = self.by_letter(finger)
        if finger not in shape.sharing:
            return by_letter
        return spelled(self.home + shape.half_steps[finger], self.key, near=by_letter)

    def played(self, finger: int, alter: str, extended: bool) -> tuple[int, Pitch] | None:
        """The finger that plays what is written for a finger, and the note."""
        shape = self.shape
        reach = shape.reaches.get(finger) if extended else 0
        if finger not in shape.letters or reach is None:
            return None
        half_steps, letters = (reach, 0) if shape.is_closed else (0, reach)
        if self.fixed_home is not None:
            stands = self._fixed(finger)
            pitch = stands and spelled(stands.key_number + half_steps, self.key, alter, near=stands)
            return None if pitch is None else (finger, pitch)
        stands = self.by_letter(finger, letters)
        change = {"": 0, "#": 1, "b": -1, "n": -stands.alter}[alter]
        pitch = Pitch(stands.index, stands.alter + change + half_steps)
        if finger in shape.sharing and not extended:
            above = pitch.key_number - self.home
            finger = min(shape.sharing, key=lambda each: abs(shape.half_steps[each] - above))
        return finger, pitch

    def puts(self, finger: int, key_number: int) -> bool:
        """Whether a finger stands on a place, or plays it where it is written plainly."""
        stands, plain = self.standing(finger), self.played(finger, "", extended=False)
        plays = plain[1] if plain and plain[0] == finger else None
        return key_number in [pitch.key_number for pitch in (stands, plays) if pitch]

    def holds(self, finger: int, key_number: int) -> bool:
        """Whether a finger reaches a place without the hand leaving its position."""
        stands = self.standing(finger)
        if stands is None:
            return self.puts(finger, key_number)
        places = [stands.key_number]
        if finger in self.shape.reaches and (reach := self.played(finger, "", extended=True)):
            places.append(reach[1].key_number)
        closest = stands.key_number
        if not self.shape.half_steps:
            lowest = self.shape.fingers[0]
            closest = self.by_letter(lowest).key_number + finger - lowest
        return min(closest, *places) - 1 <= key_number <= max(places) + 1

    def _fixed(self, finger: int) -> Pitch | None:
        """Where a finger stands in a fixed place, by half steps where the shape has them."""
        shape, lowest = self.shape, self.shape.fingers[0]
        letter = Pitch(self.open_string.index + self.position.number)
        first = spelled(self.home, self.key, near=letter)
        if finger == lowest or first is None:
            return first
        if finger in shape.half_steps:
            near = Pitch(letter.index + shape.letters[finger])
            return spelled(self.home + shape.half_steps[finger], self.key, near=near)
        return self.key.pitch(first.index + shape.letters[finger] - shape.letters[lowest])
