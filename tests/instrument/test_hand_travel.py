"""How far the hand travels: the way of its first finger's place, and the same there and back.

Every pair of fingers and of positions 1 to 8 on every string of the violin is tried. Where the
first finger stands is counted here by letters of C major, independently of the hand's table, and
its place is x = 328 mm (1 - 2^(-n/12)) for n semitones above the open string.
"""

from __future__ import annotations

from itertools import cycle, product

import pytest

from playalong.instrument.catalogue import INSTRUMENTS
from playalong.instrument.fingerboard import Fingerboard
from playalong.instrument.hand import Stop
from playalong.instrument.position import Position
from playalong.instrument.shift import LEADS, Kind, Lead, Travel, travel_between
from playalong.music.key import parse_key
from playalong.music.temperament import Tuning

VIOLIN = Fingerboard(INSTRUMENTS["violin"], parse_key("C major"), Tuning())
WHITE_KEYS = (0, 2, 4, 5, 7, 9, 11)  # semitones of C D E F G A B above C
OPEN_LETTERS = {"G": 4, "D": 1, "A": 5, "E": 2}
STRINGS = tuple(OPEN_LETTERS)
POSITIONS, FINGERS = range(1, 9), range(1, 5)
WRITTEN_LEADS = tuple(Lead(lead, lead) for lead in (None, *LEADS))
WAYS = tuple(product(WRITTEN_LEADS, (True, False)))  # a lead, and whether the slide is heard


def first_finger_mm(string: str, position: int) -> float:
    """Where the first finger stands: as many letters above the open string as the position."""
    letter = OPEN_LETTERS[string]
    octaves, above = divmod(letter + position, 7)
    semitones = 12 * octaves + WHITE_KEYS[above] - WHITE_KEYS[letter]
    return 328 * (1 - 2 ** (-semitones / 12))


def stop(string: str, position: int, finger: int) -> Stop:
    return VIOLIN.stop(string, Position(position), finger)


def travel(old: Stop, new: Stop, lead: Lead, *, heard: bool = True) -> Travel:
    found = travel_between(old, new, lead, VIOLIN, heard=heard)
    assert found is not None
    return found


def shifts(one: str, two: str) -> list[tuple[Stop, Stop]]:
    """Every pair of stops in two positions that is no position renamed."""
    places = product(POSITIONS, FINGERS)
    return [
        (old, new)
        for old, new in (
            (stop(one, *places[0]), stop(two, *places[1])) for places in product(places, repeat=2)
        )
        if old.position != new.position
        if (one, old.finger, old.pitch) != (two, new.finger, new.pitch)
    ]


@pytest.mark.parametrize(("one", "two"), [*product(STRINGS, repeat=2)])
def test_the_hand_travels_equally_far_both_ways_whatever_the_fingers(one: str, two: str) -> None:
    """On one string in every way of shifting; from string to string they are taken in turn."""
    turn = cycle(WAYS)
    for old, new in shifts(one, two):
        far = abs(
            first_finger_mm(two, new.position.number) - first_finger_mm(one, old.position.number)
        )
        for lead, heard in WAYS if one == two else [next(turn)]:
            there, back = (
                travel(*ends, lead, heard=heard).hand_travel_mm for ends in ((old, new), (new, old))
            )
            assert there == pytest.approx(far, abs=1e-9), (old, new, lead)
            assert there == back


@pytest.mark.parametrize("string", STRINGS)
def test_what_slides_goes_the_hands_way(string: str) -> None:
    """Up with the hand and down with it: no slide is a sound that no finger makes."""
    silent = {Kind.CONTRARY, Kind.SUBSTITUTION, Kind.HAND_FOLLOWS}
    seen = set()
    for old, new in shifts(string, string):
        for lead in WRITTEN_LEADS:
            found = travel(old, new, lead)
            seen.add(found.kind)
            rises = found.end.key_number - found.start.key_number
            if found.kind not in silent:
                assert rises * (new.position.number - old.position.number) > 0, (old, new, lead)
    assert seen == {
        Kind.SAME_FINGER,
        Kind.SUBSTITUTION,
        Kind.EXCHANGE,
        Kind.OLD_FINGER,
        Kind.NEW_FINGER,
        Kind.CONTRARY,
    }


def test_a_shift_is_contrary_exactly_where_hand_and_tune_part_and_no_lead_is_written() -> None:
    for old, new in shifts("D", "D"):
        rises = new.pitch.key_number - old.pitch.key_number
        apart = rises * (new.position.number - old.position.number) < 0
        assert (travel(old, new, Lead()).kind is Kind.CONTRARY) == apart
        for lead in WRITTEN_LEADS[1:]:
            assert travel(old, new, lead).kind is not Kind.CONTRARY
