"""A hand by the shapes that it takes along the string; one formula serves every instrument."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from playalong.instrument.frame import Frame, Shape
from playalong.instrument.hand import FingerError, Named, Place, Stop
from playalong.instrument.position import THUMB, Position, finger_name
from playalong.music.key import Key
from playalong.music.pitch import Pitch

MARKS = {"": 0, "n": 0, "#": 1, "b": -1}  # of a fixed place, in half steps
PLAINEST = ("", "n", "b", "#")  # a hand between two positions is called the upper one's lowered


@dataclass(frozen=True)
class School:
    """How a school calls the closed hand, by half steps of its first finger, from 1."""

    name: str
    names: tuple[str, ...]  # two names of one place are parted by a slash
    forward_is_raised: bool = False  # whether a hand extended forward is the next one up
    is_said: bool = False  # whether the school is named with its number

    def at(self, home: int, number: int, extended: str = "") -> str:
        """The name of a place, of two the one with the position's number; nothing beyond it."""
        place = home - 1 if extended == "forward" and not self.forward_is_raised else home
        if not 1 <= place <= len(self.names):
            return ""
        both = self.names[place - 1].split("/")
        return next((each for each in both if str(number) in each), both[0])

    def told(self, name: str) -> str:
        return f"{self.name} {name}" if self.is_said else name


@dataclass(frozen=True)
class ShapedHand:
    """A hand as a table of shapes."""

    shapes: tuple[Shape, ...]
    thumb: Shape | None = None
    fixed: tuple[int, ...] = ()  # position by position, half steps above the open string
    schools: tuple[School, ...] = ()  # the usual one first
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
        if one == two or one.thumb != two.thumb or not self.fixed:
            return one == two
        first, second = (self.frame(open_string, position, key) for position in (one, two))
        if first is None or second is None:
            return False
        both_closed = first.shape.is_closed and second.shape.is_closed
        same_place = first.lowest == second.lowest is not None
        return same_place or (both_closed and first.home == second.home)

    def named(self, open_string: Pitch, position: Position, key: Key) -> Named:
        """By the place of the closed hand; the first school's name stands beside the number.

        An open hand is extended back where it is closed in its position's own place, and forward
        where that lies a half step above.
        """
        frame = self.frame(open_string, position, key)
        if frame is None or not self.fixed:
            return Named()
        rare = frame.shape.rare
        if position.thumb:
            return Named(rare=rare)
        home, own = frame.home - open_string.key_number, self.fixed[position.number]
        extended = ""
        if frame.is_open:
            extended = "forward" if home == own + 1 else "back"
        called = {
            school.name: school.at(home, position.number, extended) for school in self.schools
        }
        usual = next((each for each in self.schools if called[each.name]), None)
        beside = [extended and f"extended {extended}"]
        if usual and called[usual.name] != usual.at(own, position.number):
            beside.insert(0, usual.told(called[usual.name]))
        known = {school: name for school, name in called.items() if name}
        return Named(known, extended, rare, ", ".join(filter(None, beside)))

    def places(self, open_string: Pitch, key: Key) -> Iterator[Place]:
        shapes = [(shape, False) for shape in self.shapes]
        shapes += [(self.thumb, True)] if self.thumb else []
        seen = set[tuple[bool, int, int]]()
        for mark in PLAINEST if self.fixed else ("",):
            for shape, thumb in shapes:
                for number in shape.positions if shape.is_closed or not mark else ():
                    position = Position(number, mark, thumb)
                    height = self.height(open_string, position, key)
                    frame = self.frame(open_string, position, key)
                    if not self.fixed or frame is None:
                        yield Place(position, height)
                    elif height > 0 and (thumb, height, frame.home) not in seen:
                        seen.add((thumb, height, frame.home))
                        yield Place(position, height, shape.is_closed, frame.is_open)

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
            frame = self.frame(open_string, position, key)
            if frame and frame.puts(finger, pitch.key_number):
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
                    for near in (number, number - 1, number + 1, number - 2, number + 2)
                    if near in shape.positions
                )

    def candidates(
        self, open_string: Pitch, pitch: Pitch, key: Key
    ) -> Iterator[tuple[Position, int]]:
        ways = {(finger, False) for shape in self.shapes for finger in shape.fingers}
        ways |= {(finger, True) for finger in (self.thumb.fingers if self.thumb else ())}
        for finger, thumb in sorted(ways, reverse=True):
            position = self.position_of(open_string, pitch, finger, key, thumb=thumb)
            if position and (position.thumb or 1 <= position.number <= self.highest_position):
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
