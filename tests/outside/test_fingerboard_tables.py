"""Positions and places on the string against Grove and computed string geometry.

Grove: Grove's Dictionary of Music and Musicians, "Positions" and "Shift". NewGrove: New Grove,
"Position". Rows 1 to 3 of the violin table agree with Grove's compasses, row 1 with NewGrove;
the rest follow from Grove's rule. String lengths: makingtheviolin.com, JAVS spring 2025,
jaymaron.com (makers vary; common practice). Millimetres are computed from x = L (1 - f0 / f).
"""

from itertools import pairwise

import pytest

from playalong.instrument.catalogue import INSTRUMENTS
from playalong.instrument.fingerboard import Fingerboard, hz_at_place, place_mm
from playalong.instrument.hand import Stop
from playalong.instrument.position import Position
from playalong.instrument.shift import Kind, Lead, travel_between
from playalong.music.key import ALL_KEYS, Key, parse_key
from playalong.music.pitch import Pitch
from playalong.music.temperament import Tuning, cents

C_MAJOR = parse_key("C major")


def hand(instrument: str, key: str = "C major") -> Fingerboard:
    return Fingerboard(INSTRUMENTS[instrument], parse_key(key), Tuning())


VIOLIN = """
1 | A3 B3 C4 D4 (2 4 5 7)     | E4 F4 G4 A4 (2 3 5 7)     | B4 C5 D5 E5 (2 3 5 7)     | F5 G5 A5 B5 (1 3 5 7)
2 | B3 C4 D4 E4 (4 5 7 9)     | F4 G4 A4 B4 (3 5 7 9)     | C5 D5 E5 F5 (3 5 7 8)     | G5 A5 B5 C6 (3 5 7 8)
3 | C4 D4 E4 F4 (5 7 9 10)    | G4 A4 B4 C5 (5 7 9 10)    | D5 E5 F5 G5 (5 7 8 10)    | A5 B5 C6 D6 (5 7 8 10)
4 | D4 E4 F4 G4 (7 9 10 12)   | A4 B4 C5 D5 (7 9 10 12)   | E5 F5 G5 A5 (7 8 10 12)   | B5 C6 D6 E6 (7 8 10 12)
5 | E4 F4 G4 A4 (9 10 12 14)  | B4 C5 D5 E5 (9 10 12 14)  | F5 G5 A5 B5 (8 10 12 14)  | C6 D6 E6 F6 (8 10 12 13)
6 | F4 G4 A4 B4 (10 12 14 16) | C5 D5 E5 F5 (10 12 14 15) | G5 A5 B5 C6 (10 12 14 15) | D6 E6 F6 G6 (10 12 13 15)
7 | G4 A4 B4 C5 (12 14 16 17) | D5 E5 F5 G5 (12 14 15 17) | A5 B5 C6 D6 (12 14 15 17) | E6 F6 G6 A6 (12 13 15 17)
"""  # noqa: E501
VIOLA_C = """
1 | D3 E3 F3 G3 (2 4 5 7)
3 | F3 G3 A3 B3 (5 7 9 11)
5 | A3 B3 C4 D4 (9 11 12 14)
7 | C4 D4 E4 F4 (12 14 16 17)
"""


def without_last_column(table: str) -> str:
    return "\n".join(row.rpartition("|")[0] for row in table.strip().splitlines())


def cells(table: str, instrument: str, strings: str) -> list[object]:
    found = []
    for row in table.strip().splitlines():
        position, *columns = row.split("|")
        for string, column in zip(strings, columns, strict=True):
            names, semitones = column.strip().rstrip(")").split(" (")
            cell = (instrument, string, int(position), names.split(), semitones.split())
            found.append(pytest.param(*cell, id=f"{instrument} {string} position {int(position)}"))
    return found


@pytest.mark.parametrize(
    ("instrument", "string", "position", "names", "semitones"),
    [
        *cells(VIOLIN, "violin", "GDAE"),
        *cells(VIOLA_C, "viola", "C"),
        *cells(
            "\n".join(r.rpartition("|")[0] for r in VIOLIN.strip().splitlines()), "viola", "GDA"
        ),
    ],
)
def test_fingers_play_the_naturals_of_their_position(
    instrument: str, string: str, position: int, names: list[str], semitones: list[str]
) -> None:
    player = hand(instrument)
    open_key = player.instrument.string(string).key_number
    for finger in (1, 2, 3, 4):
        pitch = player.stop(string, Position(position), finger).pitch
        assert pitch.name == names[finger - 1]
        assert pitch.key_number - open_key == int(semitones[finger - 1])


@pytest.mark.parametrize(
    ("position", "lowest", "highest"), [(1, "A3", "B5"), (2, "B3", "C6"), (3, "C4", "D6")]
)
def test_a_position_has_the_compass_that_grove_prints(
    position: int, lowest: str, highest: str
) -> None:
    violin = hand("violin")
    assert violin.stop("G", Position(position), 1).pitch.name == lowest
    assert violin.stop("E", Position(position), 4).pitch.name == highest


@pytest.mark.parametrize("instrument", ["violin", "viola"])
@pytest.mark.parametrize("key", ALL_KEYS, ids=str)
class TestGrovesRulesInEveryKey:
    def test_finger_1_of_position_p_stands_p_steps_up(self, key: Key, instrument: str) -> None:
        player = hand(instrument, key.name)
        for string in player.instrument.string_names:
            index = player.instrument.string(string).index
            for p in range(1, 9):
                assert player.standing(string, Position(p), 1).index == index + p

    def test_finger_1_stands_where_finger_2_stood_a_position_lower(
        self, key: Key, instrument: str
    ) -> None:
        player = hand(instrument, key.name)
        for string in player.instrument.string_names:
            for p in range(1, 9):
                for f in (1, 2, 3):
                    lower = player.standing(string, Position(p), f + 1)
                    assert lower == player.standing(string, Position(p + 1), f)

    def test_a_string_repeats_the_next_one_up_from_fifth_position(
        self, key: Key, instrument: str
    ) -> None:
        """And what finger 1 played in p, finger 4 plays in p + 1 on the string below."""
        player = hand(instrument, key.name)
        for upper, lower in pairwise(player.instrument.string_names):
            for p in range(1, 9):
                for f in (1, 2, 3, 4):
                    below = player.standing(lower, Position(p + 4), f)
                    assert below == player.standing(upper, Position(p), f)
                below = player.standing(lower, Position(p + 1), 4)
                assert below == player.standing(upper, Position(p), 1)

    def test_first_position_starts_a_semitone_or_a_tone_above_a_string_of_the_key(
        self, key: Key, instrument: str
    ) -> None:
        player = hand(instrument, key.name)
        for string in player.instrument.strings:
            in_key = key.pitch(string.index) == string
            if in_key and "harmonic" not in key.name:
                first = key.pitch(string.index + 1)
                assert first.key_number - string.key_number in (1, 2)


def test_roman_numerals_name_strings_from_the_highest_down() -> None:
    """NewGrove; fisherviolins.com."""
    assert [INSTRUMENTS["violin"].roman(string) for string in "EADG"] == ["I", "II", "III", "IV"]
    assert [INSTRUMENTS["viola"].roman(string) for string in "ADGC"] == ["I", "II", "III", "IV"]


def test_the_ghost_note_of_an_old_finger_shift_follows_the_guide_note_rule() -> None:
    """D string, C major: finger 1 in first (E4) to finger 3 in third (B4) is guided by G4."""
    old = Stop("D", Position(1), 1, Pitch.of("E4"))
    new = Stop("D", Position(3), 3, Pitch.of("B4"))
    travel = travel_between(old, new, Lead(), hand("violin"), heard=True)
    assert travel is not None
    assert (travel.kind, travel.ghost) == (Kind.OLD_FINGER, Pitch.of("G4"))


LENGTHS_MM = {"violin": 328, "viola": 375, "cello": 690, "bass": 1060}


@pytest.mark.parametrize(("instrument", "length_mm"), LENGTHS_MM.items())
def test_full_size_strings_have_the_usual_length(instrument: str, length_mm: float) -> None:
    assert INSTRUMENTS[instrument].string_length_mm == length_mm


PURE_STOPS = [  # ratio, then violin, viola, cello, bass in mm
    (9 / 8, (36.44, 41.67, 76.67, 117.78)),
    (10 / 9, (32.80, 37.50, 69.00, 106.00)),
    (6 / 5, (54.67, 62.50, 115.00, 176.67)),
    (5 / 4, (65.60, 75.00, 138.00, 212.00)),
    (4 / 3, (82.00, 93.75, 172.50, 265.00)),
    (3 / 2, (109.33, 125.00, 230.00, 353.33)),
    (5 / 3, (131.20, 150.00, 276.00, 424.00)),
    (2, (164.00, 187.50, 345.00, 530.00)),
]
EQUAL_STOPS = [  # semitones, then the same
    (1, (18.41, 21.05, 38.73, 59.49)),
    (2, (35.79, 40.91, 75.28, 115.65)),
    (3, (52.19, 59.66, 109.78, 168.65)),
    (4, (67.67, 77.36, 142.35, 218.68)),
    (5, (82.28, 94.07, 173.08, 265.90)),
    (7, (109.09, 124.72, 229.48, 352.53)),
    (9, (132.97, 152.02, 279.72, 429.72)),
    (12, (164.00, 187.50, 345.00, 530.00)),
    (24, (246.00, 281.25, 517.50, 795.00)),
]


@pytest.mark.parametrize(
    ("ratio", "places_mm"),
    [*PURE_STOPS, *((2 ** (semitones / 12), places) for semitones, places in EQUAL_STOPS)],
)
def test_a_stop_stands_at_its_published_millimetre(
    ratio: float, places_mm: tuple[float, ...]
) -> None:
    for length_mm, mm in zip(LENGTHS_MM.values(), places_mm, strict=True):
        assert place_mm(length_mm, 100, 100 * ratio) == pytest.approx(mm, abs=0.00501)


def test_the_hand_finds_equal_semitones_where_the_string_has_them() -> None:
    violin = hand("violin")
    for name, mm in (("E4", 35.79), ("F4", 52.19), ("G4", 82.28), ("A4", 109.09), ("D5", 164.0)):
        assert violin.place_mm("D", Pitch.of(name)) == pytest.approx(mm, abs=0.00501)


@pytest.mark.parametrize(
    ("length_mm", "nut", "fifth", "octave"),
    [(328, 0.1895, 0.1264, 0.0947), (690, 0.3986, 0.2660, 0.1993), (1060, 0.6123, 0.4086, 0.3061)],
)
def test_a_cent_is_as_wide_as_computed(
    length_mm: float, nut: float, fifth: float, octave: float
) -> None:
    for semitones, mm in ((0, nut), (7, fifth), (12, octave)):
        low, high = (100 * 2 ** ((semitones * 100 + off) / 1200) for off in (-0.5, 0.5))
        width = place_mm(length_mm, 100, high) - place_mm(length_mm, 100, low)
        assert width == pytest.approx(mm, abs=0.00005001)


def test_the_old_rule_of_18_gives_a_semitone_of_98_955_cents() -> None:
    """A lute maker's rule: each fret an eighteenth of what is left of the string."""
    assert cents(hz_at_place(328, 440, 328 / 18), 440) == pytest.approx(98.955, abs=0.0005)


def test_half_way_between_two_places_is_not_half_way_in_pitch() -> None:
    """Computed: 2 to 9 semitones on 328 mm has its middle at 5.1486, 0 to 12 at 4.9804."""
    for low, high, middle in ((2, 9, 5.1486), (0, 12, 4.9804)):
        places = [place_mm(328, 440, 440 * 2 ** (semitones / 12)) for semitones in (low, high)]
        semitones = cents(hz_at_place(328, 440, sum(places) / 2), 440) / 100
        assert semitones == pytest.approx(middle, abs=0.00005)
