"""What each token sounds at each place of the climb, in one key and on one string."""

from __future__ import annotations

from dataclasses import dataclass

from playalong.drill.errors import DrillError
from playalong.drill.model import Drill
from playalong.drill.notation import Token
from playalong.instrument.fingerboard import HIGHEST_POSITION, FingerError, Hand
from playalong.music.pitch import Pitch


class UnplayableError(DrillError):
    """A drill that this key and string cannot play."""


@dataclass(frozen=True)
class Head:
    """Pitch and fingering of one token at one place."""

    pitch: Pitch  # sounding
    hz: float
    string: str | None = None
    position: int | None = None
    finger: int | None = None


@dataclass(frozen=True)
class Reader:
    """Reads tokens for a hand; `string` is the one the drill is on, if its bar names none."""

    drill: Drill
    hand: Hand
    string: str | None

    def heads(self, offset: int) -> tuple[Head | None, ...]:
        """Every token `offset` letters up the climb; None stands for a rest."""
        return tuple(self.head(number, offset) for number in range(len(self.drill.pattern.tokens)))

    def head(self, number: int, offset: int) -> Head | None:
        """One token; UnplayableError with its line where it has no place on the string."""
        token = self.drill.pattern.tokens[number]
        if token.is_rest:
            return None
        string = token.string or self.string
        offset = self._moved(token, offset)
        try:
            if token.is_pitch:
                return self._written(token, offset, string)
            assert string is not None  # the loader gives every fingered drill a string
            return self._fingered(token, offset, string)
        except FingerError as error:
            message = f'"{token.text}": {error}'
            raise UnplayableError(self.drill.file, self.drill.line_of(number), message) from None

    def offsets(self) -> tuple[int, ...]:
        """Letters by which each place of the climb lies above the written bars."""
        climb = self.drill.climb
        if isinstance(climb, int):
            return tuple(range(climb))
        return tuple(start - self._home() for start in climb)

    def positions(self, offset: int) -> tuple[int, ...]:
        """Every position asked for `offset` letters up the climb, on the string or beyond it."""
        asked = (self._asked(t, self._moved(t, offset)) for t in self.drill.pattern.tokens)
        return tuple(position for position in asked if position is not None)

    def _home(self) -> int:
        """The position that a climb list counts from: that of the first finger that moves."""
        moving = (self._asked(t, 0) for t in self.drill.pattern.tokens if not t.fixed)
        return next((position for position in moving if position is not None), 1)

    @staticmethod
    def _moved(token: Token, offset: int) -> int:
        """Letters by which the climb moves a token; a fixed home and open strings stay."""
        return 0 if token.fixed or token.finger == 0 else offset

    def _asked(self, token: Token, offset: int) -> int | None:
        """The position a token asks for; None for what no modelled hand stops."""
        string = token.string or self.string
        if not (token.finger and string and self.drill.instrument.has_hand):
            return None
        if not token.is_pitch:
            return token.position + offset
        pitch = self._written_pitch(token, offset)
        return pitch.index - self.drill.instrument.string(string).index - token.finger + 1

    def _fingered(self, token: Token, offset: int, string: str) -> Head:
        assert token.finger is not None
        if token.finger == 0:
            return self._open(string)
        position = token.position + offset
        if not 0 <= position <= HIGHEST_POSITION:
            raise FingerError(
                f"the climb leads to position {position}; "
                f"positions go from 0 (half position) to {HIGHEST_POSITION}"
            )
        pitch = self.hand.stopped_pitch(
            string, position, token.finger, alter=token.alter, reach=token.reach
        )
        return Head(pitch, self.hand.hz(pitch), string, position, token.finger)

    def _open(self, string: str) -> Head:
        pitch = self.drill.instrument.string(string)
        return Head(pitch, self.hand.open_hz(string), string, None, 0)

    def _written(self, token: Token, offset: int, string: str | None) -> Head:
        pitch = self._written_pitch(token, offset)
        if string and token.finger == 0:
            open_string = self.drill.instrument.string(string)
            if pitch != open_string:
                raise FingerError(
                    f"{self._as_written(pitch)} is not the open {string} string; write "
                    f'"{self._exact(open_string)}=0", or a finger from 1 to 4'
                )
            return self._open(string)
        self._check_range(pitch, string, token.finger)
        position = self._asked(token, offset)
        if string and position is not None and not 0 <= position <= HIGHEST_POSITION:
            raise FingerError(
                f"no position puts finger {token.finger} on {pitch} on the {string} string; "
                f"{self._finger_offer(pitch, string)}"
            )
        # Where no hand is modelled a finger is true only of the pitch that it was written for.
        finger = token.finger if self.drill.instrument.has_hand or offset == 0 else None
        return Head(pitch, self.hand.hz(pitch), string, position, finger)

    def _written_pitch(self, token: Token, offset: int) -> Pitch:
        """A written pitch moved up the climb; its deviation from the signature goes with it."""
        assert token.index is not None
        key, octaves = self.hand.key, self.drill.instrument.octaves
        written = token.pitch_alter
        deviation = 0 if written is None else written - key.alteration(token.index % 7)
        moved = key.pitch(token.index + offset)
        return Pitch(moved.index + 7 * octaves, moved.alter + deviation)

    def _finger_offer(self, pitch: Pitch, string: str) -> str:
        above = pitch.index - self.drill.instrument.string(string).index
        if above <= 4:
            return f'finger {above} does in first position: "{self._exact(pitch)}={above}"'
        return f"finger 4 does in position {above - 3}"

    def _check_range(self, pitch: Pitch, string: str | None, finger: int | None) -> None:
        instrument = self.drill.instrument
        lowest, highest = instrument.lowest, instrument.highest
        who, name = "this pitch", self._as_written(pitch)
        if string:
            if finger or pitch != instrument.string(string):
                self.hand.check_on_string(string, pitch, who)
        elif pitch.key_number < lowest.key_number:
            lowest = self._as_written(lowest)
            raise FingerError(f"{name} lies below {lowest}, the lowest note here")
        elif not instrument.strings and pitch.key_number > highest.key_number:
            highest = self._as_written(highest)
            raise FingerError(f"{name} lies above {highest}, the highest note here")
        elif instrument.strings and pitch.key_number > instrument.strings[0].key_number:
            self.hand.check_on_string(instrument.string_names[0], pitch, who)

    def _as_written(self, pitch: Pitch) -> Pitch:
        """A sounding pitch as the player of this instrument reads it."""
        return Pitch(pitch.index - 7 * self.drill.instrument.octaves, pitch.alter)

    def _exact(self, pitch: Pitch) -> str:
        """A sounding pitch in bar notation; a natural sign where the signature says otherwise."""
        written = self._as_written(pitch)
        if written.alter or not self.hand.key.alteration(written.letter):
            return written.name
        return f"{written.name[0]}n{written.octave}"
