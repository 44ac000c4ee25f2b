"""The signs of ABC's music (ABC standard 2.1, chapter 4), and what marks mean."""

from __future__ import annotations

import re
from collections.abc import Sequence
from fractions import Fraction

_LENGTH = r"\d{0,4}/{0,6}\d{0,4}"
SIGN = re.compile(
    rf"""
    (?P<text>"(?P<words>[^"\n]{{0,200}})")
    |(?P<mark>!(?P<name>[^!\n]{{1,40}})!|\+(?P<old>[^+\s]{{1,40}})\+)
    |(?P<field>\[(?P<letter>[A-Za-z]):(?P<value>[^\]\n]{{0,200}})\])
    |(?P<ending>\[(?P<which>[1-9][\d,.-]{{0,8}}))
    |(?P<bar>\.?(?P<line>(?:::|:{{0,4}}(?:\|\]?|\[\|\]?){{1,4}}:{{0,4}}))(?P<passes>[1-9][\d,.-]{{0,8}})?)
    |(?P<tuplet>\((?P<count>[2-9])(?::(?P<time>\d?)(?::(?P<over>\d{{0,2}}))?)?)
    |(?P<slur>\.?\()
    |(?P<slur_end>\))
    |(?P<grace>\{{/?)
    |(?P<grace_end>\}})
    |(?P<note>(?P<alter>\^\^|__|[\^_]\d?/\d?|[\^=_])?(?P<pitch>[A-Ga-g])(?P<octave>[,']{{0,6}})
        (?P<length>{_LENGTH}))
    |(?P<rest>[zx](?P<rest_length>{_LENGTH}))
    |(?P<rests>[ZX](?P<rest_bars>\d{{0,3}}))
    |(?P<chord>\[)
    |(?P<chord_end>\](?P<times>{_LENGTH}))
    |(?P<broken>>{{1,3}}|<{{1,3}})
    |(?P<tie>\.?-)
    |(?P<overlay>&)
    |(?P<letter_mark>[.~H-WuvT])
    |(?P<blank>\s+|[`\\$*]|y\d{{0,2}})
    """,
    re.VERBOSE,
)
LETTERS_OF_MARKS = {
    ".": "staccato", "~": "turn", "L": "accent", "M": "mordent", "P": "inverted-mordent",
    "T": "trill-mark", "u": "up-bow", "v": "down-bow", "H": "fermata", "O": "coda", "S": "segno",
}  # fmt: skip
# To the names of MusicXML, by which marks are told.
NAMES = {
    ">": "accent", "emphasis": "accent", "wedge": "staccatissimo", "marcato": "strong-accent",
    "trill": "trill-mark", "roll": "turn", "lowermordent": "mordent", "upbow": "up-bow",
    "uppermordent": "inverted-mordent", "pralltriller": "inverted-mordent", "downbow": "down-bow",
}  # fmt: skip
ORNAMENTS = ("turn", "mordent", "inverted-mordent", "trill-mark")
ARTICULATIONS = ("staccato", "accent", "tenuto", "staccatissimo", "strong-accent", "fermata")
BOWS = ("up-bow", "down-bow")
FINGERS = ("0", "1", "2", "3", "4")
_FINGERING = re.compile(r"[_^<>@]?([0-5]{1,2}(?:-[0-5])?)")
_CHORD_NAME = re.compile(r"\(?[A-G](?:[#b♯♭mM+°o\d(/]|maj|min|dim|aug|sus|add|[A-G]|$)")
_LOUDNESS = re.compile(
    r"p{1,4}|m?p|m?f|f{1,4}|s?fz?|[<>][()]|(?:(?:de)?cresc(?:endo)?|diminuendo)[()]"
)
TIMES = {2: 3, 3: 2, 4: 3, 6: 2, 8: 3}  # of tuplets; of others by the meter


def length_of(text: str) -> Fraction:
    """`3`, `3/2`, `/`, `//`: how often the plain length; 0 where it is none."""
    above, slash, below = text.partition("/")
    divisor = int(below.strip("/") or 0) or 2 ** text.count("/")
    return Fraction(int(above or 1), divisor if slash else 1)


def finger_of(words: str) -> str:
    """The finger, or fingers, that a text is: tune books print them so. Else nothing."""
    found = _FINGERING.fullmatch(words.strip())
    return found[1] if found else ""


def words_of(text: str) -> str:
    """What a player reads; nothing for the name of a chord."""
    words = text.strip().lstrip("_^<>@").strip()
    is_chord = text.strip() == words and _CHORD_NAME.match(words)
    return "" if is_chord else words


def is_loudness(words: str) -> bool:
    return _LOUDNESS.fullmatch(words) is not None


def known(marks: Sequence[str], names: Sequence[str]) -> tuple[str, ...]:
    return tuple(mark for mark in marks if mark in names)
