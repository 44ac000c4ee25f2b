"""Violin and viola: finger f in position p is the letter p - 1 + f above the open string.

Every key, string, finger and mark in positions 0 to 13 is held against that sentence, which is
written out here once more (Grove's Dictionary, "Positions"), and shifts in five keys.
"""

from __future__ import annotations

from itertools import product

import pytest

from playalong.instrument.catalogue import INSTRUMENTS
from playalong.instrument.fingerboard import Fingerboard
from playalong.instrument.hand import Stop
from playalong.instrument.hands import VIOLIN_HAND
from playalong.instrument.position import Position
from playalong.instrument.shift import LEADS, Lead, travel_between
from playalong.music.key import ALL_KEYS, Key, parse_key
from playalong.music.pitch import Pitch
from playalong.music.temperament import Tuning

FINGERS = (1, 2, 3, 4)
REACH = {1: -1, 3: 1, 4: 1}


def by_letters(
    open_string: Pitch, key: Key, position: int, finger: int, mark: str, reach: int = 0
) -> Pitch:
    above = position - 1 + finger + reach
    plain = key.pitch(open_string.index + above)
    if above == reach == 0:  # half position raises the open string's letter
        plain = Pitch(open_string.index, open_string.alter + 1)
    change = {"": 0, "#": 1, "b": -1, "n": -plain.alter}[mark]
    return Pitch(plain.index, plain.alter + change)


@pytest.mark.parametrize("open_string", ["C3", "G3", "D4", "A4", "E5"])
def test_every_finger_in_every_key_is_a_letter_above_the_open_string(open_string: str) -> None:
    string, checked = Pitch.of(open_string), 0
    for key, position, finger, mark in product(ALL_KEYS, range(14), FINGERS, ("", "#", "b", "n")):
        for reach in (0, *([REACH[finger]] if finger in REACH else [])):
            played = VIOLIN_HAND.played(
                string, Position(position), finger, key, alter=mark, extended=bool(reach)
            )
            assert played == (finger, by_letters(string, key, position, finger, mark, reach))
            checked += 1
    assert checked == len(ALL_KEYS) * 14 * (4 + 3) * 4


@pytest.mark.parametrize("key", ["C major", "Eb major", "A major", "F# minor", "D harmonic minor"])
def test_ghost_notes_are_where_a_finger_stands_by_letters(key: str) -> None:
    """The old finger's place in the new position, or the new finger's in the old one."""
    board = Fingerboard(INSTRUMENTS["violin"], parse_key(key), Tuning())
    string = board.instrument.string("A")
    places = [(position, finger) for position in range(1, 6) for finger in FINGERS]
    seen = set()
    for (p, f), (q, g) in product(places, repeat=2):
        pitches = [by_letters(string, board.key, *each, "") for each in ((p, f), (q, g))]
        old, new = (
            Stop("A", Position(position), finger, pitch)
            for (position, finger), pitch in zip(((p, f), (q, g)), pitches, strict=True)
        )
        for lead in (None, *LEADS):
            travel = travel_between(old, new, Lead(lead, lead), board, heard=True)
            assert (travel is None) == (p == q)
            if travel is not None and travel.ghost is not None:
                leads = (p, g) if lead == "new finger" else (q, f)
                assert travel.ghost == by_letters(string, board.key, *leads, "")
                seen.add(travel.kind)
    assert len(seen) == 3  # old finger leads, new finger leads, exchange
