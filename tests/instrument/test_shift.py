"""Every kind of shift, up and down, on the D string of a violin in C major unless said.

First position E4 F4 G4 A4, third G4 A4 B4 C5. The guide-note rule, that the old finger sounds
its own note of the new position, is common practice in the shifting literature.
"""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from playalong.instrument.catalogue import INSTRUMENTS
from playalong.instrument.fingerboard import Fingerboard
from playalong.instrument.hand import Stop
from playalong.instrument.position import Position
from playalong.instrument.shift import Kind, Lead, Travel, travel_between
from playalong.music.key import ALL_KEYS, parse_key
from playalong.music.pitch import Pitch
from playalong.music.temperament import Tuning

VIOLIN = Fingerboard(INSTRUMENTS["violin"], parse_key("C major"), Tuning())
DEFAULT = Lead()
OLD = Lead("old finger", "old finger")
NEW = Lead("new finger", "new finger")
BY_DIRECTION = Lead("old finger", "new finger")


def stop(text: str, hand: Fingerboard = VIOLIN) -> Stop:
    """`D p3 1`, with `x` or an accidental after the finger."""
    string, position, finger = text.split()
    number, tail = int(finger[0]), finger[1:]
    place = int(position[1:])
    alter, extended = tail.replace("x", ""), "x" in tail
    return hand.stop(string, Position(place), number, alter=alter, extended=extended)


def travel(old: str, new: str, lead: Lead = DEFAULT, *, heard: bool = True) -> Travel | None:
    return travel_between(stop(old), stop(new), lead, VIOLIN, heard=heard)


@pytest.mark.parametrize(
    ("old", "new", "lead", "kind", "finger", "start", "end", "ghost"),
    [
        ("D p1 1", "D p3 1", DEFAULT, Kind.SAME_FINGER, 1, "E4", "G4", None),
        ("D p3 1", "D p1 1", DEFAULT, Kind.SAME_FINGER, 1, "G4", "E4", None),
        ("D p1 2", "D p3 2#", NEW, Kind.SAME_FINGER, 2, "F4", "A#4", None),
        ("D p1 3", "D p3 1", DEFAULT, Kind.SUBSTITUTION, 1, "E4", "G4", None),
        ("D p3 1", "D p1 3", DEFAULT, Kind.SUBSTITUTION, 3, "B4", "G4", None),
        ("D p1 3", "D p3 1", NEW, Kind.SUBSTITUTION, 1, "E4", "G4", None),
        ("D p1 2", "D p3 1", DEFAULT, Kind.EXCHANGE, None, "F4", "G4", "A4"),
        ("D p3 1", "D p1 2", DEFAULT, Kind.EXCHANGE, None, "G4", "F4", "E4"),
        ("D p1 2", "D p3 1", OLD, Kind.OLD_FINGER, 2, "F4", "A4", "A4"),
        ("D p3 1", "D p1 2", NEW, Kind.NEW_FINGER, 2, "A4", "F4", "A4"),
        ("D p1 1", "D p3 3", DEFAULT, Kind.OLD_FINGER, 1, "E4", "G4", "G4"),
        ("D p3 3", "D p1 1", DEFAULT, Kind.OLD_FINGER, 3, "B4", "G4", "G4"),
        ("D p1 1", "D p3 3", NEW, Kind.NEW_FINGER, 3, "G4", "B4", "G4"),
        ("D p3 3", "D p1 1", NEW, Kind.NEW_FINGER, 1, "G4", "E4", "G4"),
        ("D p1 1", "D p3 3", BY_DIRECTION, Kind.OLD_FINGER, 1, "E4", "G4", "G4"),
        ("D p3 3", "D p1 1", BY_DIRECTION, Kind.NEW_FINGER, 1, "G4", "E4", "G4"),
        ("D p1 1", "A p3 2", DEFAULT, Kind.ACROSS_STRINGS, 1, "E4", "G4", "G4"),
        ("A p3 2", "D p1 1", DEFAULT, Kind.ACROSS_STRINGS, 2, "E5", "C5", "C5"),
        ("A p3 2", "D p1 1", NEW, Kind.ACROSS_STRINGS, 1, "G4", "E4", "G4"),
        ("D p1 1", "A p3 2", NEW, Kind.ACROSS_STRINGS, 2, "C5", "E5", "C5"),
        ("D p1 1", "A p3 2", BY_DIRECTION, Kind.ACROSS_STRINGS, 1, "E4", "G4", "G4"),
        ("A p3 2", "D p1 1", BY_DIRECTION, Kind.ACROSS_STRINGS, 1, "G4", "E4", "G4"),
        ("D p3 1", "D p1 4", DEFAULT, Kind.CONTRARY, 1, "G4", "E4", None),
        ("D p1 4", "D p3 1", DEFAULT, Kind.CONTRARY, 1, "E4", "G4", None),
        ("D p3 1", "D p1 4", OLD, Kind.OLD_FINGER, 1, "G4", "E4", "E4"),
        ("D p3 1", "D p1 4", NEW, Kind.NEW_FINGER, 4, "C5", "A4", "C5"),
        ("D p1 4x", "D p2 3", DEFAULT, Kind.HAND_FOLLOWS, 4, "B4", "B4", None),
        ("D p1 4x", "D p2 3", OLD, Kind.HAND_FOLLOWS, 4, "B4", "B4", None),
        ("D p2 3", "D p1 4x", NEW, Kind.HAND_FOLLOWS, 4, "B4", "B4", None),
        ("D p2 3", "D p1 4x", DEFAULT, Kind.CONTRARY, 1, "F4", "E4", None),
        ("D p2 1x", "D p1 3", DEFAULT, Kind.HAND_FOLLOWS, 1, "E4", "E4", None),
        ("D p1 4x", "A p2 1", DEFAULT, Kind.HAND_FOLLOWS, 4, "B4", "B4", None),
        ("D p1 3x#", "D p2 4", DEFAULT, Kind.HAND_FOLLOWS, 3, "A#4", "A4", None),
        ("D p1 1", "A p3 1", DEFAULT, Kind.ACROSS_STRINGS, 1, "E4", "G4", "G4"),
        ("D p1 1#", "D p1 1b", DEFAULT, Kind.HALF_STEP, 1, "E#4", "Eb4", None),
    ],
)
def test_the_fingers_decide_what_travels_and_where_the_ghost_note_lies(
    old: str,
    new: str,
    lead: Lead,
    kind: Kind,
    finger: int | None,
    start: str,
    end: str,
    ghost: str | None,
) -> None:
    found = travel(old, new, lead)
    assert found is not None
    assert (found.kind, found.finger) == (kind, finger)
    assert (found.start.name, found.end.name) == (start, end)
    assert found.ghost == (None if ghost is None else Pitch.of(ghost))
    new_leads = found.ghost == found.start
    assert found.string == (new if new_leads else old)[0]


@pytest.mark.parametrize(
    ("old", "new", "start", "end"),
    [
        ("D p1 3", "D p3 2", "E4", "G4"),
        ("D p3 4", "D p1 4", "G4", "E4"),
        ("D p1 3", "D p3 1", "E4", "G4"),
        ("D p1 1", "A p3 1", "E4", "D5"),
        ("A p3 1", "D p1 1", "D5", "E4"),
    ],
)
def test_an_unheard_shift_tells_the_way_of_the_first_finger_from_string_to_string(
    old: str, new: str, start: str, end: str
) -> None:
    found = travel(old, new, NEW, heard=False)
    assert found is not None
    assert (found.kind, found.finger, found.ghost) == (Kind.UNHEARD, 1, None)
    assert (found.start.name, found.end.name) == (start, end)


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("D p1 1", "D p1 2"),
        ("D p1 1", "A p1 1"),
        ("D p1 1", "D p1 1"),
        ("D p1 1", "D p2 1x"),
        ("G p0 1", "G p1 1b"),
        ("D p1 3", "D p1 3x"),
        ("D p1 2#", "D p1 3b"),
    ],
)
@pytest.mark.parametrize("heard", [True, False])
def test_where_the_hand_stays_or_is_only_renamed_there_is_no_shift(
    old: str, new: str, heard: bool
) -> None:
    assert travel(old, new, heard=heard) is None


@pytest.mark.parametrize(
    ("old", "new", "mm"),
    [
        # D string: E4 35.79, F4 52.19, G4 82.28, A4 109.09, B4 132.97 mm from the nut, computed.
        ("D p1 1", "D p3 1", 82.28 - 35.79),
        ("D p3 1", "D p1 1", 82.28 - 35.79),
        ("D p1 1", "D p3 3", 82.28 - 35.79),
        ("D p1 2", "D p3 1", 82.28 - 52.19),
        ("D p3 3", "D p1 1", 132.97 - 82.28),
    ],
)
def test_what_slides_has_its_own_way_in_mm(old: str, new: str, mm: float) -> None:
    found = travel(old, new)
    assert found is not None
    assert found.travel_mm == pytest.approx(mm, abs=0.01)  # two printed places, each half a digit


def test_a_small_violin_has_a_shorter_way() -> None:
    small = Fingerboard(INSTRUMENTS["violin"].with_string_length(164), VIOLIN.key, VIOLIN.tuning)
    full, half = (
        travel_between(stop("D p1 1"), stop("D p3 1"), DEFAULT, hand, heard=True)
        for hand in (VIOLIN, small)
    )
    assert full is not None
    assert half is not None
    assert half.travel_mm == pytest.approx((full.travel_mm or 0) / 2, rel=1e-12)


@given(
    st.sampled_from(ALL_KEYS),
    st.tuples(st.integers(1, 7), st.integers(1, 4)),
    st.tuples(st.integers(1, 7), st.integers(1, 4)),
    st.sampled_from((DEFAULT, OLD, NEW, BY_DIRECTION)),
)
def test_a_shift_mirrors_when_the_hand_goes_back(
    key: object, one: tuple[int, int], two: tuple[int, int], lead: Lead
) -> None:
    """Up and down swap the ends of a same-finger shift; the old finger's way back is the new's."""
    hand = Fingerboard(INSTRUMENTS["violin"], key, Tuning())  # type: ignore[arg-type]
    a, b = (Stop("D", Position(p), f, hand.standing("D", Position(p), f)) for p, f in (one, two))
    there, back = (travel_between(*ends, lead, hand, heard=True) for ends in ((a, b), (b, a)))
    assert (there is None) == (back is None)
    if there is None or back is None:
        return
    assert there.kind not in (Kind.UNHEARD, Kind.ACROSS_STRINGS, Kind.SLIDE)
    if there.kind is Kind.SAME_FINGER:
        assert (there.start, there.end) == (back.end, back.start)
        assert there.travel_mm == back.travel_mm
    if {there.kind, back.kind} == {Kind.OLD_FINGER, Kind.NEW_FINGER}:
        assert (there.start, there.end, there.finger) == (back.end, back.start, back.finger)


def test_a_new_finger_slide_is_the_old_fingers_way_back() -> None:
    up, down = travel("D p1 1", "D p3 3", OLD), travel("D p3 3", "D p1 1", NEW)
    assert up is not None
    assert down is not None
    assert (up.start, up.end, up.finger) == (down.end, down.start, down.finger)


def test_a_lead_written_for_one_direction_leaves_the_other_to_exchange() -> None:
    up_only = Lead(up="new finger")
    upward = travel("A p1 2", "A p3 1", up_only)
    downward = travel("A p3 1", "A p1 2", up_only)
    assert upward is not None
    assert downward is not None
    assert (upward.kind, downward.kind) == (Kind.NEW_FINGER, Kind.EXCHANGE)
