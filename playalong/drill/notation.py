"""Bar notation: the text of `bar = "…"` to tokens.

Tokens stand apart by spaces. Position, string and the `!` of a fixed home hold until they are
written again, across bar lines; each pass starts as the first did.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from fractions import Fraction

from playalong.drill.errors import NotationError
from playalong.drill.hints import TOKEN_HELP, why_not
from playalong.instrument.fingerboard import HIGHEST_POSITION, REACH
from playalong.music.pitch import read_pitch

LONGEST_TOKEN = 24
_LENGTH = r"(?:\*(?P<length>\S+))?"
_NOTE = re.compile(
    r"(?P<mark>[-~])?(?:"
    r"(?P<finger>[0-9]+)(?P<tail>[#bnx]*)"
    r"|(?P<pitch>[A-Ga-g](?:##|bb|[#bnx♯♭♮])?[0-9])(?:=(?P<by>[0-9]+))?"
    r"|(?P<rest>r))" + _LENGTH
)
_POSITION = re.compile(r"p([0-9]+)(!)?:")
_STRING = re.compile(r"([A-G]):")


@dataclass(frozen=True)
class Token:
    """A note or rest as written, with the place of the hand that is in force for it."""

    text: str
    offset: int
    position: int
    fixed: bool = False  # written after `p1!:`
    string: str | None = None
    finger: int | None = None
    alter: str = ""  # "#", "b", "n" against the signature
    reach: bool = False
    index: int | None = None  # written pitch
    pitch_alter: int | None = None  # its written accidental, if any
    length: Fraction | None = None  # in plain notes
    silent: bool = False  # -
    slide: bool = False  # ~
    bow: int | None = None  # which slur of the pattern it belongs to

    @property
    def is_rest(self) -> bool:
        return self.finger is None and self.index is None

    @property
    def is_pitch(self) -> bool:
        return self.index is not None


@dataclass(frozen=True)
class Pattern:
    """The written bars."""

    bars: tuple[tuple[Token, ...], ...]

    @property
    def tokens(self) -> tuple[Token, ...]:
        return tuple(token for bar in self.bars for token in bar)

    @property
    def names_strings(self) -> bool:
        return any(token.string for token in self.tokens)

    @property
    def has_slurs(self) -> bool:
        return any(token.bow is not None for token in self.tokens)

    @property
    def needs_hand(self) -> bool:
        """Whether any note is written as a finger in a position."""
        return any(not (token.is_pitch or token.is_rest) for token in self.tokens)


@dataclass
class _Reader:
    position: int = 1
    fixed: bool = False
    string: str | None = None
    bow: int | None = None
    bows: int = 0
    bow_offset: int = 0
    bow_empty: bool = False
    bars: list[list[Token]] = field(default_factory=lambda: [[]])

    def read(self, word: str, offset: int) -> None:
        if len(word) > LONGEST_TOKEN:
            message = f'"{word[:LONGEST_TOKEN]}…" is too long; tokens are apart by spaces'
            raise NotationError(message, offset)
        if word == "|":
            self.bars.append([])
        elif word == "(":
            self._open_bow(offset)
        elif word == ")":
            self._close_bow(offset)
        elif match := _POSITION.fullmatch(word):
            if int(match[1]) > HIGHEST_POSITION:
                message = f'"{word}": positions go from 0 (half position) to {HIGHEST_POSITION}'
                raise NotationError(message, offset)
            self.position, self.fixed = int(match[1]), match[2] is not None
        elif match := _STRING.fullmatch(word):
            self.string = match[1]
        else:
            here = Token(word, offset, self.position, self.fixed, self.string, bow=self.bow)
            self.bars[-1].append(_note(here))
            self.bow_empty = False

    def _open_bow(self, offset: int) -> None:
        if self.bow is not None:
            raise NotationError('"(": a bow is open already; close it with ")" first', offset)
        self.bow, self.bow_offset, self.bow_empty = self.bows, offset, True
        self.bows += 1

    def _close_bow(self, offset: int) -> None:
        if self.bow is None:
            raise NotationError('")": no bow is open; write "(" where it begins', offset)
        if self.bow_empty:
            raise NotationError('"( )": a bow with no note in it', offset)
        self.bow = None


def parse_bars(text: str) -> Pattern:
    """Bar text to a pattern. NotationError names the token and what was expected."""
    reader = _Reader()
    for word, offset in _words(text):
        reader.read(word, offset)
    if reader.bow is not None:
        raise NotationError('"(": this bow is never closed with ")"', reader.bow_offset)
    bars = tuple(tuple(bar) for bar in reader.bars)
    if not any(bars):
        raise NotationError("the bar is empty; " + TOKEN_HELP, 0)
    bar_starts = (0, *(match.start() for match in re.finditer(r"\|", text)))
    for number, (bar, start) in enumerate(zip(bars, bar_starts, strict=True), 1):
        if not bar:
            message = f"bar {number} is empty; fill it with rests (r) or take out a |"
            raise NotationError(message, start)
    if all(token.is_rest for bar in bars for token in bar):
        raise NotationError("the bar has rests only, no note to play", 0)
    return Pattern(bars)


def _words(text: str) -> Iterator[tuple[str, int]]:
    for match in re.finditer(r"[()|]|[^\s()|]+", text):
        yield match[0], match.start()


def _note(token: Token) -> Token:
    match = _NOTE.fullmatch(token.text)
    if match is None:
        raise NotationError(why_not(token.text), token.offset)
    mark, length = match["mark"], match["length"]
    token = replace(
        token,
        silent=mark == "-",
        slide=mark == "~",
        length=None if length is None else _length(token, length),
    )
    if match["rest"]:
        if mark:
            raise NotationError(f'"{token.text}": a rest takes no {mark}', token.offset)
        return token
    if match["pitch"]:
        return _pitch(token, match["pitch"], match["by"])
    return _finger(token, match["finger"], match["tail"])


def _finger(token: Token, finger: str, tail: str) -> Token:
    number = _finger_number(token, finger)
    marks = tail.replace("x", "", 1)
    reach = marks != tail
    if number == 0 and token.slide:
        message = f'"{token.text}": no finger slides into an open string; write "0"'
        raise NotationError(message, token.offset)
    if number == 0 and tail:
        message = f'"{token.text}": an open string cannot be altered; write the pitch as a finger'
        raise NotationError(message, token.offset)
    if reach and number not in REACH:
        message = f'"{token.text}": finger {number} does not reach; only 1x, 3x and 4x do'
        raise NotationError(message, token.offset)
    if marks not in ("", "#", "b", "n"):
        message = f'"{token.text}": one of #, b or n may follow a finger, and one x'
        raise NotationError(message, token.offset)
    return replace(token, finger=number, alter=marks, reach=reach)


def _pitch(token: Token, name: str, by: str | None) -> Token:
    if name[0].islower():
        message = f'"{token.text}": pitch letters are capitals; did you mean "{_capital(name)}"?'
        raise NotationError(message, token.offset)
    index, alter = read_pitch(name)
    finger = None if by is None else _finger_number(token, by)
    return replace(token, index=index, pitch_alter=alter, finger=finger)


def _capital(name: str) -> str:
    return name[0].upper() + name[1:]


def _finger_number(token: Token, digits: str) -> int:
    if int(digits) > 4:
        apart = "; tokens are apart by spaces" if len(digits) > 1 else ""
        message = f'"{token.text}": fingers are 0 (open string) to 4, not {digits}{apart}'
        raise NotationError(message, token.offset)
    return int(digits)


def _length(token: Token, written: str) -> Fraction:
    message = f'"{token.text}": a length is written like *2, *1/2 or *3/2, not *{written}'
    if not re.fullmatch(r"[0-9]{1,3}(/[0-9]{1,3})?", written):
        raise NotationError(message, token.offset)
    try:
        length = Fraction(written)
    except ZeroDivisionError:
        raise NotationError(message, token.offset) from None
    if not length:
        raise NotationError(message, token.offset)
    return length
