"""Fingerings are what a teacher would write, within what is asked."""

from __future__ import annotations

from itertools import pairwise

import pytest
from small_scores import fingered, line, note, numbered, score, slurred

from playalong.instrument.catalogue import find_instrument
from playalong.instrument.fingerboard import Fingerboard
from playalong.instrument.hand import Stop
from playalong.instrument.position import THUMB
from playalong.music.key import parse_key
from playalong.music.pitch import Pitch
from playalong.music.temperament import Tuning
from playalong.passage.choosing import choose_bars
from playalong.passage.fingering import Choice, choose, ranked
from playalong.passage.line import line_of
from playalong.passage.model import PassageError
from playalong.passage.reading import all_parts
from playalong.passage.ways import OPEN_STRING, ways_of
from playalong.passage.wishes import OpenStrings, Wishes


def board(instrument: str = "violin", key: str = "C major") -> Fingerboard:
    return Fingerboard(find_instrument(instrument), parse_key(key), Tuning())


def choices(
    content: str,
    wishes: Wishes | None = None,
    on: Fingerboard | None = None,
) -> tuple[Choice, ...]:
    (part,) = all_parts(score(*numbered(content)).encode())
    found = line_of(choose_bars(part, None))
    return choose(found, [on or board()] * len(found.bars), wishes or Wishes(), 100)


def told(found: tuple[Choice, ...]) -> str:
    """`D1 E0`: string and finger, and the position after a slash where it is not the first."""
    return " ".join(
        f"{each.way.string}{each.way.finger}"
        + (f"/{each.way.position}" if each.way.finger and each.way.position.number != 1 else "")
        for each in found
    )


def test_a_scale_in_first_position_takes_the_fingers_in_a_row() -> None:
    """The fingering of every first scale of a beginner's book (common practice)."""
    assert told(choices(line("G3 A3 B3 C4 D4 E4 F4 G4 A4 B4 C5 D5 E5 F5 G5 A5", 2))) == (
        "G0 G1 G2 G3 D0 D1 D2 D3 A0 A1 A2 A3 E0 E1 E2 E3"
    )


def test_the_viola_is_fingered_a_fifth_lower() -> None:
    assert told(choices(line("C3 D3 E3 F3 G3 A3 B3 C4", 2), on=board("viola"))) == (
        "C0 C1 C2 C3 G0 G1 G2 G3"
    )


def test_the_cello_takes_its_fingers_by_half_steps() -> None:
    """A first scale of a beginner's book, and the same where the first finger stretches back for
    a B flat and the hand opens for an F sharp and a C sharp (common practice)."""
    scale = "C2 D2 E2 F2 G2 A2 B2 C3 D3 E3 F3 G3 A3 B3 C4 D4"
    assert told(choices(line(scale, 2), on=board("cello"))) == (
        "C0 C1 C3 C4 G0 G1 G3 G4 D0 D1 D2 D4 A0 A1 A2 A4"
    )
    flats = choices(line("A3 Bb3 C4 D4", 4), on=board("cello", "F major"))
    assert told(flats) == "A0 A1 A2 A4"


def test_a_cello_line_that_lies_in_first_position_stays_in_it() -> None:
    """Fast notes in flats, where a violin's lighter hand would go to third (common practice)."""
    found = choices(line("G3 Bb3 A3 C4 Bb3 D4 C4 Eb4", 8), on=board("cello", "Eb major"))
    assert {each.way.position.number for each in found if each.way.finger} == {1}


def test_a_cello_line_beyond_the_neck_takes_the_thumb_only_where_it_has_to() -> None:
    low, high = (
        choices(line(notes, 4), Wishes(stay="A"), board("cello")) for notes in ("A4 C5", "A5 G5")
    )
    assert THUMB not in {each.way.finger for each in low}
    assert {each.way.position.thumb for each in high} == {True}


def test_a_hand_that_the_key_has_opened_reaches_no_further() -> None:
    """In F major the first finger is stretched back to B flat already; an E flat above D is for
    the next position (common practice), in C major the closed hand reaches it."""
    for key, reaches in (("F major", False), ("C major", True)):
        ways = ways_of(board("cello", key), Pitch.of("Eb4"), 1)
        on_a = [way for way in ways if way.string == "A" and way.position.name == "1"]
        assert bool(on_a) == reaches


def test_the_bass_takes_one_two_four() -> None:
    """A scale in first position, by the method books' one, two, four (common practice)."""
    scale = choices(line("G1 A1 B1 C2 D2 E2 F#2 G2", 2), on=board("bass", "G major"))
    assert told(scale) == "E2 A0 A1 A2 D0 D1 D4 G0"


@pytest.mark.parametrize(
    ("instrument", "names"),
    [
        ("violin", ("A#3", "Bb4", "C5", "F#5", "Eb4", "D6")),
        ("cello", ("A#2", "Bb2", "C3", "F#3", "Eb4", "D5")),
        ("bass", ("A#1", "Bb1", "C2", "F#2", "Eb3", "D3")),
    ],
)
def test_every_way_is_one_that_a_drill_keeps(instrument: str, names: tuple[str, ...]) -> None:
    """What `ways_of` offers, `Hand.holds`, by which a written position is kept."""
    for key in ("C major", "E major", "Ab major"):
        on = board(instrument, key)
        for name in names:
            pitch = Pitch.of(name)
            ways = list(ways_of(on, pitch, 9, thumb=True))
            stopped = [way for way in ways if way.finger != OPEN_STRING]
            assert stopped
            for way in stopped:
                stop = Stop(way.string, way.position, way.finger, pitch)
                assert on.hand.holds(on.instrument.string(way.string), stop, on.key)


def test_printed_fingers_and_strings_are_kept() -> None:
    third = note("A4", 4, notations="<technical><string>3</string></technical>")
    found = choices(fingered("E5", 1) + fingered("F5", 2) + third + line("A4"))
    assert [each.way.finger for each in found[:2]] == [1, 2]
    assert found[0].is_kept
    assert found[2].way.string == "D"
    assert not any(each.breaks for each in found)


def test_printed_fingers_may_be_left_aside() -> None:
    found = choices(fingered("E5", 1) + line("E5 E5 E5"), Wishes(own_fingers=True))
    assert not found[0].is_kept
    assert told(found[:1]) in ("E0", "A4")


def test_a_printed_finger_that_no_hand_has_is_told() -> None:
    (low,) = choices(fingered("G3", 3, 16))
    assert (low.way.finger, low.breaks) == (0, True)


def test_the_highest_position_is_kept_to_where_the_note_lies_within() -> None:
    high = line("E5 A5 D6 G6")
    assert max(each.way.position.number for each in choices(high, Wishes(highest=5))) <= 5
    (beyond,) = choices(line("G6", 16), Wishes(highest=2))
    assert beyond.way.position.number > 2


def test_the_lowest_position_keeps_the_hand_up() -> None:
    found = choices(line("C5 D5 E5 F5", 2), Wishes(lowest=3, open_strings=OpenStrings.AVOID))
    assert {each.way.position.number for each in found} == {3}


def test_a_preferred_position_is_taken() -> None:
    assert told(choices(line("F4 G4 A4 B4", 2), Wishes(prefer=(2,)))) == "D1/2 D2/2 D3/2 D4/2"


def test_staying_on_a_string_shifts_instead_of_crossing() -> None:
    found = choices(line("E4 F4 G4 A4 B4 C5 D5", 2), Wishes(stay="D"))
    assert {each.way.string for each in found} == {"D"}
    assert len({each.way.position for each in found}) > 1


@pytest.mark.parametrize(("wish", "fingers"), [("avoid", {4}), ("always", {0})])
def test_open_strings_are_avoided_or_taken_as_asked(wish: str, fingers: set[int]) -> None:
    found = choices(line("G4 A4 G4 A4", 4), Wishes(open_strings=OpenStrings(wish)))
    assert {each.way.finger for each in found[1::2]} == fingers


def test_doubt_is_told_where_another_way_costs_nearly_the_same() -> None:
    """A4 after G4: open, or by the fourth finger (common practice)."""
    last = choices(line("G4 F4 G4 A4", 4))[-1]
    assert last.other is not None
    assert {last.way.finger, last.other.finger} == {0, 4}


def test_no_finger_hops_to_another_place_on_the_next_string() -> None:
    """One finger lies across two strings for a fifth; for a wider or narrower one the next finger
    takes the other note, each time it comes (common practice)."""
    wide = slurred("C4", "start", 2) + line("G#4 C4", 2) + slurred("G#4", "stop", 2)
    assert told(choices(wide)) == "G3 D4 G3 D4"


def test_the_ways_to_play_a_note_begin_with_the_one_that_is_chosen() -> None:
    (part,) = all_parts(score(*numbered(line("C5 G4 E5 A4"))).encode())
    notes = line_of(choose_bars(part, None))
    found = ranked(notes, [board()], Wishes(), 100)
    for ways, choice in zip(found, choose(notes, [board()], Wishes(), 100), strict=True):
        assert ways[0] == choice.way
        seen = [(way.string, way.finger, way.finger and way.position) for way in ways]
        assert len(set(seen)) == len(seen)


def test_a_shift_waits_for_the_new_bow() -> None:
    """Common practice: where it can be chosen, the hand moves as the bow changes."""
    bar = slurred("C5", "start", 2) + line("D5", 2) + slurred("E5", "stop", 2)
    bar += slurred("F5", "start", 2) + line("G5", 2) + slurred("A5", "stop", 2)
    found = choices(bar, Wishes(stay="A"))
    moved = [a.way.position != b.way.position for a, b in pairwise(found)]
    assert moved[2]


@pytest.mark.parametrize(
    ("name", "message"),
    [
        ("F3", "bar 1: F3 lies below G3, the lowest note of the violin"),
        ("C9", "bar 1: C9 lies above the highest note of the violin"),
    ],
)
def test_a_note_that_no_finger_reaches_is_named(name: str, message: str) -> None:
    with pytest.raises(PassageError, match=message):
        choices(line(name, 16))
