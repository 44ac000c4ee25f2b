"""A hand by the shapes that it takes along the string; one formula serves every instrument.

Position p lies p letters above the open string, and each finger so many letters above its
position; the key says where on its letter (Grove's Dictionary, "Positions"). In a **closed**
shape the fingers stand a half step apart: two of them share a letter, and the key says which of
the two plays it. Where the key puts the outer fingers a half step further apart than the closed
hand, an extending hand opens between its first two fingers.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from functools import cached_property

from playalong.instrument.hand import FingerError, Stop
from playalong.instrument.position import THUMB, Position, finger_name
from playalong.music.chromatic import spelled
from playalong.music.key import Key
from playalong.music.pitch import Pitch

MARKS = {"": 0, "n": 0, "#": 1, "b": -1}  # of a fixed place, in half steps


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
        shape, lowest, highest = self.shape, self.shape.fingers[0], self.shape.fingers[-1]
        low, high = (self.by_letter(finger).key_number for finger in (lowest, highest))
        is_open = shape.extends and high - low > shape.half_steps[highest]
        return low + 1 if is_open else low

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

    def holds(self, finger: int, key_number: int) -> bool:
        """Whether a finger reaches a place without the hand leaving its position."""
        stands = self.standing(finger)
        if stands is None:
            return False
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


@dataclass(frozen=True)
class ShapedHand:
    """A hand as a table of shapes."""

    shapes: tuple[Shape, ...]
    thumb: Shape | None = None
    fixed: tuple[int, ...] = ()  # position by position, half steps above the open string
    # What the hand spans unstretched: so many semitones anywhere, or as far along the string as
    # from the one place to the other, in half steps above the open string.
    widest_semitones: int | None = None
    widest_frame: tuple[int, int] | None = None

    @property
    def fingers(self) -> tuple[int, ...]:
        """Those that stop a string in the lowest positions, the lowest first."""
        return self.shapes[0].fingers

    @property
    def extending(self) -> tuple[int, ...]:
        return tuple(self.shapes[0].reaches)

    @property
    def highest_position(self) -> int:
        return self.shapes[-1].positions[-1]

    def frame(self, open_string: Pitch, position: Position, key: Key) -> Frame | None:
        """The hand there; None beyond its range."""
        shapes = (self.thumb,) if position.thumb else self.shapes
        for shape in shapes:
            if shape and position.number in shape.positions:
                home = None
                if self.fixed and (position.mark or (shape.is_closed and position.number == 0)):
                    above = self.fixed[position.number] + MARKS[position.mark]
                    home = open_string.key_number + above
                return Frame(shape, open_string, position, key, home)
        return None

    def standing(
        self, open_string: Pitch, position: Position, finger: int, key: Key
    ) -> Pitch | None:
        frame = self.frame(open_string, position, key)
        return frame.standing(finger) if frame else None

    def played(
        self,
        open_string: Pitch,
        position: Position,
        finger: int,
        key: Key,
        *,
        alter: str = "",
        extended: bool = False,
    ) -> tuple[int, Pitch] | None:
        frame = self.frame(open_string, position, key)
        return frame.played(finger, alter, extended) if frame else None

    def holds(self, open_string: Pitch, stop: Stop, key: Key) -> bool:
        """At the closest a finger for each half step; as far as it reaches; and an accidental."""
        frame = self.frame(open_string, stop.position, key)
        return frame is not None and frame.holds(stop.finger, stop.pitch.key_number)

    def is_same(self, open_string: Pitch, one: Position, two: Position, key: Key) -> bool:
        if one == two or one.thumb != two.thumb:
            return one == two
        frames = [self.frame(open_string, position, key) for position in (one, two)]
        closed = [frame for frame in frames if frame and frame.shape.is_closed]
        if len(closed) < len(frames):
            return False
        firsts = [frame.standing(1) for frame in closed]
        return len({frame.home for frame in closed}) == 1 or firsts[0] == firsts[1]

    def height(self, open_string: Pitch, position: Position, key: Key) -> int:
        """Half steps of the first finger above the open string; where all goes by letters, the
        position's number."""
        first = self.standing(open_string, position, 1, key)
        if not self.fixed or first is None:
            return position.number
        return first.key_number - open_string.key_number

    def position_of(
        self, open_string: Pitch, pitch: Pitch, finger: int, key: Key, *, thumb: bool = False
    ) -> Position | None:
        """By the finger's letter; in a closed hand the position must put the finger there.

        Where all goes by letters it may lie outside the hand's range.
        """
        if not self.fixed:
            letters = self.shapes[0].letters
            if thumb or finger not in letters:
                return None
            return Position(pitch.index - open_string.index - letters[finger])
        for position in self._positions(open_string, pitch, finger, thumb or finger == THUMB):
            stands = self.standing(open_string, position, finger, key)
            if stands and stands.key_number == pitch.key_number:
                return position
        return None

    def _positions(
        self, open_string: Pitch, pitch: Pitch, finger: int, thumb: bool
    ) -> Iterator[Position]:
        """Positions that might put a finger on a pitch, those by the key first."""
        for mark in MARKS:
            for shape in (self.thumb,) if thumb else self.shapes:
                if shape is None or finger not in shape.letters:
                    continue
                number = pitch.index - open_string.index - shape.letters[finger]
                yield from (
                    Position(near, mark, thumb)
                    for near in (number, number - 1, number + 1)
                    if near in shape.positions
                )

    def candidates(
        self, open_string: Pitch, pitch: Pitch, key: Key
    ) -> Iterator[tuple[Position, int]]:
        for finger in reversed(self.fingers):
            position = self.position_of(open_string, pitch, finger, key)
            if position and 1 <= position.number <= self.highest_position:
                yield position, finger

    def check(
        self, string: str, open_string: Pitch, position: Position, finger: int, key: Key
    ) -> None:
        """FingerError where the hand cannot stand so that this finger stops the string."""
        if position.mark and not self.fixed:
            raise FingerError(
                f"positions of this hand go by the key; write p{position.number}:, not p{position}:"
            )
        frame = self.frame(open_string, position, key)
        if frame is None:
            raise FingerError(self._range_message(position))
        if finger not in frame.shape.letters:
            known = ", ".join(finger_name(each) for each in frame.shape.fingers)
            raise FingerError(
                f"the hand has no finger {finger_name(finger)} in position {position}; "
                f"it plays with {known} there"
            )
        if position.number == 0 and not frame.shape.is_closed:
            self._check_half_position(string, frame, finger)

    def _range_message(self, position: Position) -> str:
        if position.thumb:
            if self.thumb is None:
                return "this hand has no thumb position"
            numbers = self.thumb.positions
            return f"thumb positions go from t{numbers[0]} to t{numbers[-1]}"
        return (
            f"the climb leads to position {position}; "
            f"positions go from 0 (half position) to {self.highest_position}"
        )

    def _check_half_position(self, string: str, frame: Frame, finger: int) -> None:
        lowest, second = self.fingers[:2]
        first, next_up = frame.by_letter(lowest), frame.by_letter(second)
        if finger in (lowest, second) and first.key_number >= next_up.key_number:
            raise FingerError(
                f"in half position on the {string} string fingers {lowest} and {second} "
                f"would share a place ({first} and {next_up}) in {frame.key}; first position "
                f"(p1:) plays {next_up} with finger {lowest}"
            )

    def strains(self, one: Stop, two: Stop) -> Iterator[str]:
        apart = two.pitch.key_number - one.pitch.key_number
        if one.finger != two.finger and (two.finger - one.finger) * apart <= 0:
            low, high = sorted((one, two), key=lambda stop: stop.finger)
            yield (
                f"finger {finger_name(high.finger)} ({high.pitch}) does not sound above "
                f"finger {finger_name(low.finger)} ({low.pitch})"
            )
        if self.widest_semitones is not None and abs(apart) > self.widest_semitones:
            yield f"{one.pitch} to {two.pitch} stretches the hand beyond its frame"
