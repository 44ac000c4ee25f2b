"""Bar notation: the text of `bar = "…"` to a pattern.

Tokens stand apart by spaces. Position, string and the `!` of a fixed home hold until they are
written again, across bar lines; each pass starts as the first did.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from fractions import Fraction

from playalong.drill.hints import TOKEN_HELP, why_not
from playalong.drill.origin import Locate, Origin, in_text
from playalong.drill.pattern import Change, Event, Pattern, Symbol
from playalong.errors import PlayalongError
from playalong.instrument.catalogue import HIGHEST_POSITION
from playalong.instrument.position import FIRST_POSITION, THUMB, Position
from playalong.music.key import parse_key
from playalong.music.meter import Meter
from playalong.music.pitch import read_pitch

LONGEST_TOKEN = 24
DOTTED = Fraction(3, 2)  # of a plain note
_NOTE = re.compile(
    r"(?P<mark>[-~])?(?P<grace>g:)?(?:"
    r"(?P<finger>[0-9]+|T)(?P<tail>[#bnxo]*)"
    r"|(?P<pitch>[A-Ga-g](?:##|bb|[#bnx♯♭♮])?[0-9])(?P<touch>o)?(?:=(?P<by>[0-9]+|T))?"
    r"|(?P<rest>r)|(?P<tie>_))(?P<dots>\.+)?(?:\*(?P<length>\S+))?"
)
_POSITION = re.compile(r"(?P<hand>[pt])(?P<number>[0-9]+)(?P<mark>[bn#]?)(?P<fixed>!)?:")
_STRING = re.compile(r"([A-G]):")
_METER = re.compile(r"([0-9]+/[0-9]+):")
_KEY = r"[A-Ga-g](?:[#b♯♭]|-sharp|-flat)?(?:\s+[a-zA-Z]{3,})+:"
_BAR_LINE = r"\|\|?"
_WORD = re.compile(rf"{_BAR_LINE}|[()]|{_KEY}|[^\s()|]+")


def parse_bars(text: str, locate: Locate = in_text, first_bar: int = 1) -> Pattern:
    """Bar text to a pattern. DrillError names the token and what was expected.

    `locate` says where a word at an offset of the text stands in its file; bars are counted from
    `first_bar` in what is said of them.
    """
    reader = _Reader(locate)
    for match in _WORD.finditer(text):
        reader.read(match[0], match.start())
    bars = reader.finished()
    bar_starts = (0, *(match.start() for match in re.finditer(_BAR_LINE, text)))
    for number, (bar, start) in enumerate(zip(bars, bar_starts, strict=True), first_bar):
        if not bar:
            message = f"bar {number} is empty; fill it with rests (r) or take out a |"
            raise locate("|", start).error(message)
    if not any(event.symbols for bar in bars for event in bar):
        raise locate("", 0).error("the bar has rests only, no note to play")
    return Pattern(bars, tuple(reader.changes), frozenset(reader.parted))


@dataclass
class _Reader:
    """Word by word; what holds on from one to the next."""

    locate: Locate
    position: Position = FIRST_POSITION
    fixed: bool = False
    placed: bool = False  # whether a position is written yet
    string: str | None = None
    slur: int | None = None
    slurs: int = 0
    slur_origin: Origin = field(default_factory=Origin)
    slur_is_empty: bool = False
    bars: list[list[Event]] = field(default_factory=lambda: [[]])
    changes: list[Change] = field(default_factory=list)
    parted: set[int] = field(default_factory=set)

    def read(self, word: str, offset: int) -> None:
        origin = self.locate(word, offset)
        if len(word) > LONGEST_TOKEN:
            message = f'"{word[:LONGEST_TOKEN]}…" is too long; tokens are apart by spaces'
            raise origin.error(message)
        if re.fullmatch(_BAR_LINE, word):
            if word == "||":
                self.parted.add(len(self.bars) - 1)
            self.bars.append([])
        elif word == "(":
            self.open_slur(origin)
        elif word == ")":
            self.close_slur(origin)
        elif match := _POSITION.fullmatch(word):
            number = int(match["number"])
            if number > HIGHEST_POSITION:
                message = f'"{word}": positions go from 0 (half position) to {HIGHEST_POSITION}'
                raise origin.error(message)
            self.position = Position(number, match["mark"], thumb=match["hand"] == "t")
            self.fixed = match["fixed"] is not None
            self.placed = True
        elif match := _STRING.fullmatch(word):
            self.string = match[1]
        elif _METER.fullmatch(word) or re.fullmatch(_KEY, word):
            self.change(origin)
        else:
            self.bars[-1].append(self.event(origin))
            self.slur_is_empty = False

    def change(self, origin: Origin) -> None:
        """A meter or a key from this bar on."""
        word = origin.text[:-1]
        is_meter = "/" in word
        if len(self.bars) == 1:
            setting = f'meter = "{word}"' if is_meter else f'keys = ["{word}"]'
            message = f"what the first bar begins in is a setting: {setting}"
            raise origin.error(f'"{origin.text}": {message}')
        if self.bars[-1]:
            message = "a meter or key changes at a bar line; write it right after the |"
            raise origin.error(f'"{origin.text}": {message}')
        place = len(self.bars) - 1
        try:
            change = Change(
                place,
                Meter.parse(word) if is_meter else None,
                None if is_meter else parse_key(word),
                origin,
            )
        except (ValueError, PlayalongError) as error:
            raise origin.error(str(error)) from None
        self.changes.append(change)

    def open_slur(self, origin: Origin) -> None:
        if self.slur is not None:
            raise origin.error('"(": a bow is open already; close it with ")" first')
        self.slur, self.slur_origin, self.slur_is_empty = self.slurs, origin, True
        self.slurs += 1

    def close_slur(self, origin: Origin) -> None:
        if self.slur is None:
            raise origin.error('")": no bow is open; write "(" where it begins')
        if self.slur_is_empty:
            raise origin.error('"( )": a bow with no note in it')
        self.slur = None

    def finished(self) -> tuple[tuple[Event, ...], ...]:
        if self.slur is not None:
            raise self.slur_origin.error('"(": this bow is never closed with ")"')
        if not any(self.bars):
            raise self.locate("", 0).error("the bar is empty; " + TOKEN_HELP)
        return tuple(tuple(bar) for bar in self.bars)

    def event(self, origin: Origin) -> Event:
        match = _NOTE.fullmatch(origin.text)
        if match is None:
            raise origin.error(why_not(origin.text))
        mark = match["mark"]
        length = _length(origin, match["dots"], match["length"])
        if match["grace"] and (length is not None or match["rest"] or match["tie"]):
            message = "a grace note is a finger or a pitch after g:, without a length: g:2, g:D5=2"
            raise origin.error(f'"{origin.text}": {message}')
        if match["rest"]:
            if mark:
                raise origin.error(f'"{origin.text}": a rest takes no {mark}')
            return Event((), length, slur=self.slur, origin=origin)
        if match["tie"]:
            if mark:
                message = f"a tie is one note that goes on, so nothing moves into it: no {mark}"
                raise origin.error(f'"{origin.text}": {message}')
            return Event((), length, slur=self.slur, tied=True, origin=origin)
        if match["pitch"]:
            symbol = self.pitch(origin, match["pitch"], match["by"], match["touch"])
        else:
            symbol = self.finger(origin, match["finger"], match["tail"])
        if symbol.finger == 0 and not symbol.is_pitch and mark == "~":
            message = f'"{origin.text}": no finger slides into an open string; write "0"'
            raise origin.error(message)
        return Event(
            (symbol,),
            length,
            silent=mark == "-",
            slide=mark == "~",
            slur=self.slur,
            grace=match["grace"] is not None,
            origin=origin,
        )

    def finger(self, origin: Origin, digits: str, tail: str) -> Symbol:
        number = _finger_number(origin, digits)
        marks = tail.replace("x", "", 1).replace("o", "", 1)
        if number == 0 and tail:
            message = "an open string cannot be altered; write the pitch as a finger"
            raise origin.error(f'"{origin.text}": {message}')
        if marks not in ("", "#", "b", "n"):
            message = "one of #, b or n may follow a finger, and one x and one o"
            raise origin.error(f'"{origin.text}": {message}')
        return Symbol(
            self.position,
            self.fixed,
            self.string,
            number,
            alter=marks,
            extended="x" in tail,
            touched="o" in tail,
            origin=origin,
        )

    def pitch(self, origin: Origin, name: str, by: str | None, touch: str | None) -> Symbol:
        if name[0].islower():
            capital = name[0].upper() + name[1:]
            message = f'pitch letters are capitals; did you mean "{capital}"?'
            raise origin.error(f'"{origin.text}": {message}')
        index, alter = read_pitch(name)
        return Symbol(
            self.position,
            self.fixed,
            self.string,
            finger=None if by is None else _finger_number(origin, by),
            touched=touch is not None,
            index=index,
            pitch_alter=alter,
            placed=self.placed and by is not None,
            origin=origin,
        )


def _finger_number(origin: Origin, digits: str) -> int:
    if digits == "T":
        return THUMB
    if int(digits) > 4:
        apart = "; tokens are apart by spaces" if len(digits) > 1 else ""
        message = f"fingers are 0 (open string) to 4, not {digits}{apart}"
        raise origin.error(f'"{origin.text}": {message}')
    return int(digits)


def _length(origin: Origin, dots: str | None, written: str | None) -> Fraction | None:
    """The length of a token in plain notes; None where it has none of its own."""
    if dots:
        if len(dots) > 1 or written is not None:
            message = "one dot or a *, not more: a double dot is *7/4, a dotted half *3/4"
            raise origin.error(f'"{origin.text}": {message}')
        return DOTTED
    if written is None:
        return None
    error = origin.error(
        f'"{origin.text}": a length is written like *2, *1/2 or *3/2, not *{written}'
    )
    if not re.fullmatch(r"[0-9]{1,3}(/[0-9]{1,3})?", written):
        raise error
    try:
        length = Fraction(written)
    except ZeroDivisionError:
        raise error from None
    if not length:
        raise error
    return length
