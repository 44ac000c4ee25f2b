"""What each written symbol sounds at each starting position, in one key and on one string."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import groupby, pairwise

from playalong.drill.model import Drill
from playalong.drill.origin import DrillError
from playalong.drill.pattern import Pattern, Symbol
from playalong.instrument.fingerboard import Fingerboard
from playalong.instrument.hand import FingerError, Stop
from playalong.instrument.harmonics import NODES_OFFER, node_near
from playalong.instrument.instruments import Instrument
from playalong.instrument.position import Position, finger_name, finger_words
from playalong.music.key import Key
from playalong.music.melodic import rising_notes
from playalong.music.pitch import Pitch
from playalong.music.temperament import cents
from playalong.score.model import Notehead, Touch


class UnplayableError(DrillError):
    """A drill that this key and string cannot play."""


@dataclass(frozen=True)
class Resolver:
    """Reads symbols on a fingerboard; `string` is the drill's, where its bar names none.

    `letters` is always how far a starting position lies above the written bars.
    """

    drill: Drill
    board: Fingerboard
    string: str | None

    @property
    def instrument(self) -> Instrument:
        return self.board.instrument

    def heads(self, letters: int) -> Iterator[tuple[Notehead, ...]]:
        """The heads of every event; none for a rest. Bars of one key are read together.

        UnplayableError with its line for a symbol that has no place on the string.
        """
        for part in self._parts():
            yield from part._heads(letters)

    def _parts(self) -> Iterator[Resolver]:
        """One for each row of bars in one key."""
        bars = zip(self.drill.bars, self.drill.pattern.bars, strict=True)
        for key, row in groupby(bars, key=lambda bar: bar[0].key or self.board.key):
            drill = replace(self.drill, pattern=Pattern(tuple(events for _, events in row)))
            yield Resolver(drill, self.board.in_key(key), self.string)

    def _heads(self, letters: int) -> Iterator[tuple[Notehead, ...]]:
        rising, positions = iter(self._rising(letters)), iter(self._positions(letters))
        for event in self.drill.pattern.events:
            yield tuple(
                self._form(next(rising))._head(symbol, letters, next(positions))
                for symbol in event.symbols
            )

    def _form(self, rising: bool) -> Resolver:
        """In the form of the key that a line takes."""
        return replace(self, board=self.board.rising) if rising else self

    def _head(self, symbol: Symbol, letters: int, position: Position | None) -> Notehead:
        string = symbol.string or self.string
        moved = letters if symbol.climbs else 0
        try:
            if symbol.is_pitch:
                return self._written(symbol, moved, string, position)
            return self._fingered(symbol, string, position)
        except FingerError as error:
            origin = symbol.origin
            message = f'"{origin.text}": {error}'
            raise UnplayableError(origin.file, origin.line, message, origin.column) from None

    def _rising(self, letters: int) -> tuple[bool, ...]:
        """Which symbols take the key's rising form in the line of this starting position."""
        symbols, key = self.drill.pattern.symbols, self.board.key
        if key.rising == key:
            return (False,) * len(symbols)
        line = [self._letter(symbol, letters if symbol.climbs else 0) for symbol in symbols]
        return tuple(
            _own_form(symbol, key, by_line=rising)
            for symbol, rising in zip(symbols, rising_notes(key, line), strict=True)
        )

    def _letter(self, symbol: Symbol, letters: int) -> int:
        """The letter that is read for a symbol, counted from C0, wherever it lies."""
        if symbol.index is not None:
            return symbol.index + letters
        string = symbol.string or self.string
        if string is None or symbol.finger is None:
            return 0  # told where it is resolved
        open_string, key = self.instrument.string(string), self.board.key
        sounds = open_string
        if symbol.finger:
            position, extended = symbol.position.up(letters), symbol.extended
            hand = self.board.hand
            played = hand.played(open_string, position, symbol.finger, key, extended=extended)
            sounds = played[1] if played else open_string
        return self.instrument.as_written(sounds).index

    def climb(self) -> tuple[int, ...]:
        """How many letters each starting position lies above the written bars."""
        climb = self.drill.climb
        if isinstance(climb, int):
            return tuple(range(climb))
        return tuple(start - self._home() for start in climb)

    def positions(self, letters: int) -> tuple[int, ...]:
        """Every position asked for, on the string or beyond it."""
        asked = (position for part in self._parts() for position in part._positions(letters))
        return tuple(each.number for each in asked if each is not None)

    def _home(self) -> int:
        """The position that a climb list counts from: that of the first finger that moves."""
        symbols = self.drill.pattern.symbols
        moving = (p for s, p in zip(symbols, self._positions(0), strict=True) if not s.fixed)
        return next((position.number for position in moving if position is not None), 1)

    def _positions(self, letters: int) -> tuple[Position | None, ...]:
        """The position that each symbol asks for; None for what no modelled hand stops.

        A position that is written wins where the hand can hold the pitch; else it follows from
        pitch and finger. Pitches in a row whose fingers stand a half step each apart are one hand,
        whatever their letters: that of the lowest finger, or of the others where it reaches back.
        """
        symbols, rising = self.drill.pattern.symbols, self._rising(letters)
        found: list[Position | None] = []
        run: list[tuple[int, Stop]] = []  # the stops of one hand, with their numbers
        for number, (symbol, goes_up) in enumerate(zip(symbols, rising, strict=True)):
            moved = letters if symbol.climbs else 0
            stop = self._form(goes_up)._asked(symbol, moved)
            found.append(stop.position if stop else None)
            if stop is None:
                continue
            derived = symbol.is_pitch and not symbol.placed
            if not (derived and all(self._is_one_hand(each, stop) for _, each in run)):
                run.clear()
            if derived:
                run.append((number, stop))
                stops = [each for _, each in run]
                reaches = any(_steps_over(*pair) for pair in pairwise(stops))
                lowest = min(stops, key=lambda each: (reaches and each.finger < 2, each.finger))
                for each, _ in run:
                    found[each] = lowest.position
        return tuple(found)

    def _is_one_hand(self, one: Stop, two: Stop) -> bool:
        """Whether two fingers on one string stand a half step apart for each finger between, or a
        half step more with the first finger reaching back."""
        if one.string != two.string:
            return False
        over, (first, other) = _steps_over(one, two), sorted((one, two), key=_by_finger)
        hand, reaching = self.board.hand, replace(first, position=other.position)
        if over != 1 or first.finger not in hand.extending[:1] or other.finger == first.finger:
            return over == 0
        return hand.holds(self.instrument.string(one.string), reaching, self.board.key)

    def _asked(self, symbol: Symbol, letters: int) -> Stop | None:
        """What one symbol asks of the hand by itself; None for what no modelled hand stops."""
        string, hand = symbol.string or self.string, self.instrument.hand
        if not (symbol.finger and string and hand):
            return None
        position = symbol.position.up(letters)
        if not symbol.is_pitch:
            stands = self.board.standing(string, position, symbol.finger)
            return Stop(string, position, symbol.finger, stands or self.instrument.string(string))
        open_string = self.instrument.string(string)
        stop = Stop(string, position, symbol.finger, self._written_pitch(symbol, letters))
        if symbol.placed and hand.holds(open_string, stop, self.board.key):
            return stop
        found = hand.position_of(
            open_string, stop.pitch, stop.finger, self.board.key, thumb=position.thumb
        )
        return replace(stop, position=found) if found else None

    def _fingered(self, symbol: Symbol, string: str | None, position: Position | None) -> Notehead:
        if string is None or symbol.finger is None:
            raise FingerError("on which string? Give the drill its strings")
        if symbol.finger == 0:
            return self._open(string)
        if position is None:
            raise FingerError(f"fingers of the {self.instrument.name} are not known here")
        stop = self.board.stop(
            string,
            position,
            symbol.finger,
            alter=symbol.alter,
            extended=symbol.extended,
        )
        return self._sounding(stop, touched=symbol.touched)

    def _sounding(self, stop: Stop, *, touched: bool) -> Notehead:
        """What a stop sounds, pressed down or only touched."""
        where = (stop.string, stop.position, stop.finger)
        if not touched:
            return Notehead(stop.pitch, self.board.hz(stop.pitch), *where)
        open_hz = self.board.open_hz(stop.string)
        node = node_near(cents(self.board.hz(stop.pitch), open_hz))
        if node is None:
            hand = f" in position {stop.position}" if stop.position else ""  # the climb moves it
            raise FingerError(
                f"no harmonic speaks where finger {finger_name(stop.finger)}{hand} touches "
                f"{stop.pitch} on the {stop.string} string; {NODES_OFFER}"
            )
        sounds = node.sounding(self.instrument.string(stop.string))
        return Notehead(sounds, open_hz * node.partial, *where, touched=Touch(stop.pitch, node))

    def _open(self, string: str) -> Notehead:
        return Notehead(self.instrument.string(string), self.board.open_hz(string), string, None, 0)

    def _written(
        self, symbol: Symbol, letters: int, string: str | None, position: Position | None
    ) -> Notehead:
        pitch = self._written_pitch(symbol, letters)
        if string and symbol.finger == 0:
            open_string = self.instrument.string(string)
            if pitch != open_string:
                raise FingerError(
                    f"{self.instrument.as_written(pitch)} is not the open {string} string; write "
                    f'"{self._exact(open_string)}=0", or a finger from 1 to 4'
                )
            return self._open(string)
        self._check_range(pitch, string, symbol.finger)
        if string and symbol.finger and self.instrument.hand:
            highest = self.board.hand.highest_position
            if position is None or not (position.thumb or 0 <= position.number <= highest):
                raise FingerError(
                    f"no position puts finger {finger_name(symbol.finger)} on {pitch} on the "
                    f"{string} string; {self._finger_offer(pitch, string)}"
                )
            stop = Stop(string, position, symbol.finger, pitch)
            return self._sounding(stop, touched=symbol.touched)
        # Where no hand is modelled a finger is true only of the pitch that it was written for.
        finger = symbol.finger if self.instrument.hand or letters == 0 else None
        return Notehead(pitch, self.board.hz(pitch), string, position, finger)

    def _written_pitch(self, symbol: Symbol, letters: int) -> Pitch:
        """A written pitch moved up the climb; its deviation from the signature goes with it."""
        if symbol.index is None:
            raise FingerError("no pitch is written here")
        key, written = self.board.key, symbol.pitch_alter
        deviation = 0 if written is None else written - key.alteration(symbol.index % 7)
        moved = key.pitch(symbol.index + letters)
        return self.instrument.as_sounding(Pitch(moved.index, moved.alter + deviation))

    def _finger_offer(self, pitch: Pitch, string: str) -> str:
        open_string, hand = self.instrument.string(string), self.board.hand
        key, lowest = self.board.key, hand.fingers[0]
        ways = list(hand.candidates(open_string, pitch, key))
        if half := hand.position_of(open_string, pitch, lowest, key):
            ways = ways or [(half, lowest)]
        if not ways:
            return "write it for another string"
        position, finger = min(ways, key=lambda way: (way[0].thumb, way[0].number, way[1]))
        if position.number <= 1 and not position.mark:
            which = "first" if position.number else "half"
            return f'finger {finger} does in {which} position: "{self._exact(pitch)}={finger}"'
        return f"{finger_words(finger)} does in position {position}"

    def _check_range(self, pitch: Pitch, string: str | None, finger: int | None) -> None:
        instrument = self.instrument
        who, name = "this pitch", instrument.as_written(pitch)
        if string:
            if finger or pitch != instrument.string(string):
                self.board.check_on_string(string, pitch, who)
        elif pitch.key_number < instrument.lowest.key_number:
            lowest = instrument.as_written(instrument.lowest)
            raise FingerError(f"{name} lies below {lowest}, the lowest note here")
        elif not instrument.strings and pitch.key_number > instrument.highest.key_number:
            highest = instrument.as_written(instrument.highest)
            raise FingerError(f"{name} lies above {highest}, the highest note here")
        elif instrument.strings and pitch.key_number > instrument.strings[0].key_number:
            self.board.check_on_string(instrument.string_names[0], pitch, who)

    def _exact(self, pitch: Pitch) -> str:
        """A sounding pitch in bar notation; a natural sign where the signature says otherwise."""
        written = self.instrument.as_written(pitch)
        if written.alter or not self.board.key.alteration(written.letter):
            return written.name
        return f"{written.name[0]}n{written.octave}"


def _own_form(symbol: Symbol, key: Key, *, by_line: bool) -> bool:
    """Whether a symbol is of the key's rising form: as its line is, unless it says so itself.

    A finger with a mark goes by the signature, and a written accidental is of the form that has it.
    """
    if symbol.alter:
        return False
    if symbol.index is None or symbol.pitch_alter is None:
        return by_line
    letter = symbol.index % 7
    raised = key.rising.alteration(letter)
    return by_line if raised == key.alteration(letter) else symbol.pitch_alter == raised


def _by_finger(stop: Stop) -> int:
    return stop.finger


def _steps_over(one: Stop, two: Stop) -> int:
    """How many half steps further apart two stops are than one for each finger between."""
    first, other = sorted((one, two), key=_by_finger)
    return other.pitch.key_number - first.pitch.key_number - (other.finger - first.finger)
