"""Hands of shapes: there and back, one hand under two names, and what each hand refuses.

Widths in mm are x = L (1 - 2^(-n/12)) over strings of 328, 375, 690 and 1060 mm (acoustics; the
lengths are common practice).
"""

from __future__ import annotations

from dataclasses import replace
from itertools import product

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from playing import in_quarters as score

from playalong.drill.origin import DrillError
from playalong.instrument.catalogue import INSTRUMENTS
from playalong.instrument.fingerboard import Fingerboard
from playalong.instrument.hand import FingerError
from playalong.instrument.position import THUMB, Position
from playalong.instrument.shift import LEADS, Kind
from playalong.music.key import ALL_KEYS, parse_key
from playalong.music.pitch import Pitch
from playalong.music.temperament import Tuning
from playalong.score.resolving import UnplayableError


def sounds(instrument: str, key: str, bar: str) -> list[tuple[str, int | None]]:
    return [(note.pitch.name, note.finger) for note in score(instrument, key, bar).notes]


def board(instrument: str, key: str = "C major") -> Fingerboard:
    return Fingerboard(INSTRUMENTS[instrument], parse_key(key), Tuning())


@given(
    st.sampled_from(["violin", "viola", "cello", "bass"]),
    st.sampled_from(ALL_KEYS),
    st.integers(0, 3),
    st.builds(Position, st.integers(0, 21), st.sampled_from(["", "n", "b", "#"]), st.booleans()),
    st.sampled_from([THUMB, 1, 2, 3, 4]),
)
def test_what_a_finger_stops_has_a_place_and_leads_back_to_the_same_hand(
    name: str, key: object, string_number: int, position: Position, finger: int
) -> None:
    player = board(name, str(key))
    instrument, hand = player.instrument, player.hand
    string = instrument.string_names[string_number]
    open_string = instrument.string(string)
    try:
        stop = player.stop(string, position, finger)
    except FingerError:
        assume(False)
        return
    assert 0 < player.place_mm(string, stop.pitch) <= instrument.fingerboard_mm
    assert abs(player.hz(stop.pitch) - 440 * 2 ** ((stop.pitch.key_number - 69) / 12)) < 1e-6
    back = hand.position_of(open_string, stop.pitch, stop.finger, player.key, thumb=position.thumb)
    assert back is not None
    for each in (position, back):
        assert hand.holds(open_string, replace(stop, position=each), player.key)
    if not position.mark:  # else the key may have the same place under another hand
        assert player.is_same_hand(string, position, back)
    if 1 <= back.number <= hand.highest_position or back.thumb:
        ways = hand.candidates(open_string, stop.pitch, player.key)
        assert (back, stop.finger) in list(ways)


@pytest.mark.parametrize(
    ("instrument", "key", "one", "two"),
    [
        ("cello", "Ab major", "A: p1:", "p0:"),
        ("cello", "C major", "A: p3#:", "p4b:"),
        ("cello", "C major", "A: p1:", "p1n:"),
        ("cello", "G major", "C: p1:", "p1#:"),  # extended forward: the raised hand opened
        ("cello", "F major", "A: p1:", "p1n:"),  # extended back
        ("cello", "C major", "A: p5:", "p5b:"),
        ("bass", "C major", "G: p2:", "p2#:"),
        ("bass", "F major", "G: p3#:", "p4b:"),
    ],
)
def test_two_names_of_one_hand_are_no_shift(instrument: str, key: str, one: str, two: str) -> None:
    for first, second in product((1, 2), (1, 2)):
        for there, back in ((one, two), (f"{one[:2]} {two}", one[3:])):
            written = score(instrument, key, f"{there} {first} {back} {second}")
            travel = written.notes[1].arrival
            assert travel is None or travel.kind is Kind.HALF_STEP


@pytest.mark.parametrize("lead", [None, *LEADS])
@pytest.mark.parametrize(
    "bar",
    [
        *("A: p1: 1 1x 2 4", "A: p1: 2 4x 4 1", "A: p1: 1x 4 1 4x"),
        *("A: p1: 4 1x 4x 1", "D: p2: 1 2 4 2"),
    ],
)
def test_an_extension_within_a_position_is_never_a_shift(bar: str, lead: str | None) -> None:
    """Half steps of one finger are told as such, and unheard unless they are written with ~."""
    written = score("cello", "C major", bar, f'[slide]\nlead = "{lead}"' if lead else "")
    kinds = {note.arrival.kind for note in written.notes if note.arrival}
    assert kinds <= {Kind.HALF_STEP}
    assert not any(note.heard for note in written.notes)


def test_the_same_bar_opens_the_hand_forward_or_back_as_the_key_asks() -> None:
    assert sounds("cello", "C major", "A: p1: 1 2 4") == [("B3", 1), ("C4", 2), ("D4", 4)]
    assert sounds("cello", "D major", "A: p1: 1 2 4") == [("B3", 1), ("C#4", 3), ("D4", 4)]
    assert sounds("cello", "E major", "A: p1: 1 2 4") == [("B3", 1), ("C#4", 2), ("D#4", 4)]
    assert sounds("cello", "F major", "A: p1: 1 2 4") == [("Bb3", 1), ("C4", 2), ("D4", 4)]


def test_the_player_is_told_where_another_finger_plays_than_the_one_written() -> None:
    assert score("cello", "D major", "D: p1: 1 2 4").warnings == (
        '"2": in D major F#3 lies under finger 3, which plays it',
    )
    assert score("bass", "C major", "D: p1: 1 4").warnings == (
        '"4": in C major F3 lies under finger 2, which plays it',
    )
    assert score("cello", "D major", "D: p1: 1 3 4").warnings == ()


@pytest.mark.parametrize(
    ("bar", "ghosts"),
    [
        ("A: p4: 1 t7: T", [None]),
        ("A: t7: T p4: 1", [None]),
        ("A: p4: 4 t7: T", [None]),
        ("A: t7: T p4: 4", [None]),
        ("A: p4: 4 p5: 3", [None]),  # the fourth finger has no place of its own above fourth
        ("A: p4: 1 t7: 3", ["B4"]),  # a finger that stays leads as always
        ("A: t7: 3 p4: 1", ["F#4"]),  # D major: 3 on D5 leads down to its place in fourth
    ],
)
def test_fingers_without_a_place_in_the_other_hand_exchange_without_a_ghost(
    bar: str, ghosts: list[str | None]
) -> None:
    arrival = score("cello", "D major", bar).notes[1].arrival
    assert arrival is not None
    assert [arrival.ghost and arrival.ghost.name] == ghosts
    if ghosts == [None]:
        assert arrival.kind is Kind.EXCHANGE
        assert arrival.hand_travel_mm is not None


@pytest.mark.parametrize(
    ("instrument", "bar", "told"),
    [
        ("violin", "D: p2b: 1", "positions of this hand go by the key; write p2:, not p2b:"),
        ("viola", "D: t7: T", "this hand has no thumb position"),
        ("violin", "D: p1: T", "the hand has no finger T in position 1; it plays with 1, 2, 3, 4"),
        ("bass", "G: p2: 3", "the hand has no finger 3 in position 2; it plays with 1, 2, 4 there"),
        ("bass", "G: p6: 4", "the hand has no finger 4 in position 6; it plays with 1, 2, 3 there"),
        (
            "cello",
            "A: p0: 1x",
            "would sound A3, at or below the open string A3; play it as the open",
        ),
        ("cello", "A: t3: T", "thumb positions go from t4 to t14"),
        ("cello", "A: p1: T", "no finger T in position 1; it plays with 1, 2, 3, 4 there"),
        (
            "cello",
            "A: p1: 1o",
            r"no harmonic speaks where finger 1 in position 1 touches B3 .* about 3",
        ),
        (
            "cello",
            "D: F4o=3",
            "no harmonic speaks where finger 3 in position 7 touches F4 on the D",
        ),
        ("cello", "D: t7: To Tn 2o", "no harmonic speaks where finger 2 in position t7 touches F4"),
    ],
)
def test_what_a_hand_has_not_is_refused_with_what_it_has(
    instrument: str, bar: str, told: str
) -> None:
    with pytest.raises(UnplayableError, match=f'drill.toml, line 3: ".*": .*{told}'):
        score(instrument, "C major", bar)


@pytest.mark.parametrize(
    ("instrument", "bar", "told"),
    [
        ("cello", "D: p1: 3x", "finger 3 does not reach; only 1x, 2x and 4x do"),
        ("cello", "D: t7: Tx", "the thumb does not reach; only 1x, 2x and 4x do"),
        ("violin", "D: p1: 2x", "finger 2 does not reach; only 1x, 3x and 4x do"),
        ("bass", "D: p1: 1x", "no finger of the bass reaches beyond its place; write a position"),
        ("cello", "D: A4o", "a harmonic is touched by a finger on a bowed string; write it like"),
    ],
)
def test_what_no_hand_does_is_refused_when_the_drill_is_read(
    instrument: str, bar: str, told: str
) -> None:
    with pytest.raises(DrillError, match=f'line 3: ".*": {told}'):
        score(instrument, "C major", bar)


WIDTHS = """
violin | D | p1n | 1 4 | 73.3
viola  | D | p1n | 1 4 | 83.8
cello  | A | p0  | 1 4 | 103.6
cello  | A | p1n | 1 4 | 97.8
cello  | A | p3n | 1 4 | 82.2
cello  | A | p4n | 1 4 | 73.3
bass   | G | p0  | 1 4 | 109.2
bass   | G | p1n | 1 4 | 103.0
bass   | G | p3n | 1 4 | 86.6
bass   | G | p4n | 1 4 | 77.2
bass   | G | p6n | 1 3 | 64.9
bass   | G | t7n | T 3 | 84.3
"""


@pytest.mark.parametrize("row", WIDTHS.strip().splitlines())
def test_hands_are_as_wide_as_their_half_steps_are_on_the_string(row: str) -> None:
    name, string, position, bar, wide = (cell.strip() for cell in row.split("|"))
    if name in ("violin", "viola"):
        position = position.rstrip("n")
    player = board(name)
    low, high = score(name, "C major", f"{string}: {position}: {bar}").notes
    apart = player.place_mm(string, high.pitch) - player.place_mm(string, low.pitch)
    assert apart == pytest.approx(float(wide), abs=0.06)


@pytest.mark.parametrize(
    ("key", "bar", "wide"),
    [
        ("F major", "A: p1: 1 4", 134.4),
        ("E major", "A: p1: 1 4", 126.8),
        ("D major", "D: t7: T 3", 86.5),
    ],
)
def test_the_open_hand_and_the_thumbs_fourth_on_the_cello(key: str, bar: str, wide: float) -> None:
    written = score("cello", key, bar)
    places = [written.board.place_mm(bar[0], note.pitch) for note in written.notes]
    assert places[1] - places[0] == pytest.approx(wide, abs=0.06)


def test_a_hand_wider_than_the_widest_that_is_taught_first_is_told_in_mm() -> None:
    """x = 690 (1 - 2^(-n/12)): from B flat to D sharp on the A string, n = 1 to 6."""
    assert score("cello", "F major", "A: p1: 1 4").warnings == ()
    wide = 690 * (2 ** (-1 / 12) - 2 ** (-6 / 12))
    (told,) = score("cello", "F major", "A: p1: 1 4x").warnings
    assert told == (
        f"bar 1, position 1 on the A string: Bb3 to D#4 is {wide:.0f} mm, a stretch: the widest "
        "hand that is taught first spans 134 mm"
    )
    told = score("bass", "C harmonic minor", "G: p1: 1 4").warnings[-1]
    assert "Ab3 to B3 is 159 mm, a stretch: the widest hand that is taught first spans 109" in told


def test_where_a_small_cello_stretches_the_hand_stretches_with_it() -> None:
    """The frame scales with the string, so that a child's hand is judged on a child's cello."""
    assert INSTRUMENTS["cello"].with_size("1/2").string_length_mm == 585
    player = Fingerboard(INSTRUMENTS["cello"].with_size("1/2"), parse_key("F major"), Tuning())
    one, four = (player.stop("A", Position(1), finger) for finger in (1, 4))
    assert list(player.strains(one, four)) == []
    far = player.stop("A", Position(1), 4, extended=True)
    assert ["114 mm" in told for told in player.strains(one, far)] == [True]


def test_a_climb_of_fixed_places_goes_by_whole_numbers() -> None:
    written = score("cello", "A major", "A: p1n: 1", "climb = 7")
    pitches = [note.pitch.name for note in written.notes]
    assert pitches == ["B3", "C#4", "D4", "E4", "F#4", "G#4", "A4"]
    assert [str(note.position) for note in written.notes] == [f"{n}n" for n in range(1, 8)]


def test_a_pitch_finds_its_hand_by_its_finger() -> None:
    written = score("cello", "C major", "A: B3=1 C4=2 D4=4 E4=1 F4=2")
    assert [str(note.position) for note in written.notes] == ["1", "1", "1", "4", "4"]
    assert score("bass", "C major", "G: A3=1 Bb3=2 B3=4").notes[2].position == Position(1)
    assert [note.pitch for note in score("cello", "D major", "A: E5=3").notes] == [Pitch.of("E5")]


def test_a_pitch_that_the_first_finger_reaches_back_for_is_in_the_hand_of_the_others() -> None:
    """Davidoff 1.11: the open hand, with the first finger a half step behind its place."""

    def positions(bar: str) -> list[str]:
        return [str(note.position) for note in score("cello", "C major", bar).notes]

    assert positions("A: Bb3=1 C4=2 D4=4") == ["1", "1", "1"]
    assert positions("A: C4=2 Bb3=1 D4=4 B3=1") == ["1", "1", "1", "1"]
    assert positions("A: Bb3=1 B3=2 Bb3=1 C4=2") == ["0", "0", "0", "1"]


def test_a_finger_that_is_rarely_used_above_the_neck_is_told() -> None:
    """Davidoff gives the fourth finger no place above the neck; players use it now and then."""
    (told,) = score("cello", "C major", "A: p4: 1 4 p5: 1 4").warnings[:1]
    assert told == "bar 1, position 5 on the A string: finger 4 is rarely used there"
    (told,) = score("cello", "D major", "D: t7: T 3 4").warnings[:1]
    assert told == "bar 1, position t7 on the D string: finger 4 is rarely used there"
    assert score("bass", "C major", "G: p5n: 1 4 p6n: 1 3").warnings == ()
