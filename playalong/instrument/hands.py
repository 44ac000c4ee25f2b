"""The hands: one table for each instrument or school.

Cello: Davidoff, Violoncell-Schule (1888): closed and extended hand, three fingers from the fifth
position on, thumb. Bass: by the contents of Simandl's New Method for the Double Bass: 1-2-4, and
1-2-3 from the sixth position. Fixed places: the cello's by the major, the bass's by the natural
minor scale of the open string. Names of positions: Davidoff 2.3 to 3.1; what English method books
call the cello's (common practice); Simandl's from memory.
"""

from __future__ import annotations

from dataclasses import replace
from types import MappingProxyType

from playalong.instrument.frame import Shape
from playalong.instrument.position import THUMB
from playalong.instrument.shaped_hand import School, ShapedHand

_BY_LETTER = MappingProxyType({1: 0, 2: 1, 3: 2, 4: 3})
_THUMB = MappingProxyType({THUMB: 0, 1: 1, 2: 2, 3: 3})
_FOUR_HALF_STEPS = Shape(
    range(0, 5),
    letters=MappingProxyType({1: 0, 2: 1, 3: 1, 4: 2}),
    half_steps=MappingProxyType({1: 0, 2: 1, 3: 2, 4: 3}),
    reaches=MappingProxyType({1: -1, 2: 1, 4: 1}),
    is_closed=True,
    extends=True,
)
_RARE_FOUR = frozenset({4})
_MAJOR = (1, 2, 4, 5, 7, 9, 11, 12, 14, 16, 17, 19, 21, 23, 24)
_NATURAL_MINOR = (1, 2, 3, 5, 7, 8, 10, 12, 14, 15, 17, 19, 20, 22, 24)

_ENGLISH_USE = School(
    "English use",
    (
        *("half", "1st", "lower 2nd", "2nd", "3rd", "upper 3rd/lower 4th", "4th"),
        *("lower 5th", "5th", "lower 6th", "6th", "7th"),
    ),
)
_DAVIDOFF = School(
    "Davidoff",
    ("½", "1", "1½", "2", "3", "3½", "4", "4½", "5", "5½", "6", "7"),
    forward_is_raised=True,
)
_SIMANDL = School(
    "Simandl",
    ("half", "I", "II", "II–III", "III", "III–IV", "IV", "V", "V–VI", "VI", "VI–VII", "VII"),
    is_said=True,
)

VIOLIN_HAND = ShapedHand(
    shapes=(Shape(range(0, 22), _BY_LETTER, reaches=MappingProxyType({1: -1, 3: 1, 4: 1})),),
    widest_semitones=6,
)
CELLO_HAND = ShapedHand(
    shapes=(_FOUR_HALF_STEPS, Shape(range(5, 11), _BY_LETTER, rare=_RARE_FOUR)),
    thumb=Shape(range(4, 15), MappingProxyType({**_THUMB, 4: 4}), rare=_RARE_FOUR),
    fixed=_MAJOR,
    schools=(_ENGLISH_USE, _DAVIDOFF),
    widest_frame=(1, 5),
)
_BASS_UPPER = Shape(
    range(6, 8),
    letters=MappingProxyType({1: 0, 2: 1, 3: 1}),
    half_steps=MappingProxyType({1: 0, 2: 1, 3: 2}),
    is_closed=True,
)
_BASS_THUMB = Shape(range(4, 15), _THUMB, half_steps=MappingProxyType({THUMB: 0, 1: 1, 2: 2, 3: 3}))
BASS_HAND = ShapedHand(
    shapes=(
        Shape(
            range(0, 6),
            letters=MappingProxyType({1: 0, 2: 1, 4: 1}),
            half_steps=MappingProxyType({1: 0, 2: 1, 4: 2}),
            is_closed=True,
        ),
        _BASS_UPPER,
    ),
    thumb=_BASS_THUMB,
    fixed=_NATURAL_MINOR,
    schools=(_SIMANDL,),
    widest_frame=(1, 3),
)
BASS_HAND_OF_FOUR = replace(
    BASS_HAND,
    shapes=(replace(_FOUR_HALF_STEPS, positions=range(0, 6)), _BASS_UPPER),
    widest_frame=(1, 4),
)
