"""explain: every field of its data and every line of its text, worked out by hand.

Unless a test says otherwise: a violin's D string in C major and equal temperament. First position
E4 F4 G4 A4, third G4 A4 B4 C5 (common practice). Hz are those of printed tables for A4 = 440.
Places are x = 328 mm (1 - 2^(-n/12)) for n semitones above the open string, computed by hand:

    semitones    2      3      4      5      7      9      10     12
    mm           35.79  52.19  67.67  82.28  109.09 132.97 143.92 164.00
"""

from __future__ import annotations

from typing import Any

import pytest
from explained import drill_text, told

from playalong.errors import PlayalongError

ONE_PASS = "passes = 1"
MM = 0.051  # one printed decimal, and half a digit of the table above


def explained(bar: str, *settings: str, instrument: str = "violin", **words: str) -> dict[str, Any]:
    """A drill of one key and string."""
    options = [word for name, value in words.items() for word in (f"--{name}", value)]
    (data,) = told(drill_text(bar, *settings, instrument=instrument), *options)
    return data


def shifts(data: dict[str, Any]) -> list[dict[str, Any]]:
    return [shift for bar in data["bars"] for shift in bar["shifts"]]


def only_shift(bar: str, *settings: str, **kind: str) -> dict[str, Any]:
    (shift,) = shifts(explained(bar, ONE_PASS, *settings, **kind))
    return shift


def column(data: dict[str, Any], table: str, field: str) -> list[Any]:
    """One field of every entry of a table, bar by bar."""
    return [entry[field] for bar in data["bars"] for entry in bar[table]]


# --- the heading


def test_the_heading_says_what_is_played_on_what_in_which_key() -> None:
    data = explained(
        "1 2 3 1 2 3",
        'keys = ["Bb minor"]',
        'strings = ["A"]',
        'meter = "6/8"',
        instrument="viola",
    )
    assert {name: value for name, value in data.items() if not isinstance(value, list)} == {
        "format": "playalong explanation 1",
        "title": "Try",
        "instrument": "viola",
        "string": "A",
        "key": "Bb minor",
        "sounding_key": "Bb minor",
        "sounds": "",
        "meter": "6/8",
    }


def test_every_key_and_string_is_told_in_the_order_of_practice() -> None:
    text = drill_text("1*8", 'keys = ["C major", "G major"]', 'strings = ["D", "A"]')
    assert [(data["key"], data["string"]) for data in told(text)] == [
        ("C major", "D"),
        ("C major", "A"),
        ("G major", "D"),
        ("G major", "A"),
    ]


def test_a_drill_without_one_string_names_none() -> None:
    assert explained("D: 1*4 A: 1*4")["string"] is None
    assert explained("C5*8", instrument="flute")["string"] is None


# --- notes


def test_a_note_tells_when_what_by_which_finger_where_and_how_high() -> None:
    data = explained("1 2 p3: 1*2 r 0*2 p1: 4", ONE_PASS)
    notes = [
        # beat, pitch, finger, string, position, hz, mm from the nut
        (0.0, "E4", 1, "D", 1, 329.628, 35.79),
        (0.5, "F4", 2, "D", 1, 349.228, 52.19),
        (1.0, "G4", 1, "D", 3, 391.995, 82.28),
        (2.5, "D4", 0, "D", None, 293.665, None),  # after half a beat of rest
        (3.5, "A4", 4, "D", 1, 440.000, 109.09),
    ]
    names = ("beat", "pitch", "finger", "string", "position", "hz")
    for note, (*expected, mm) in zip(data["bars"][0]["notes"], notes, strict=True):
        assert [note[name] for name in names] == expected
        assert note["place_mm"] == (None if mm is None else pytest.approx(mm, abs=MM))
        hand = ("position_name", "school_names", "extended", "touches")
        assert set(note) == {*names, *hand, "grace", "sounds", "place_mm", "form"}
        assert note["grace"] is False


def test_beats_of_six_eight_are_its_dotted_quarters() -> None:
    data = explained("1 2 3 1 2 3", 'meter = "6/8"')
    assert column(data, "notes", "beat") == pytest.approx([0, 1 / 3, 2 / 3, 1, 4 / 3, 5 / 3])


def test_beats_begin_anew_at_every_bar_line() -> None:
    data = explained("1*8 | 2*4 3*4 | 1*2 2*6", ONE_PASS)
    assert [bar["bar"] for bar in data["bars"]] == [1, 2, 3]
    assert column(data, "notes", "beat") == [0, 0, 2, 0, 1]


def test_a_drill_in_pitches_has_a_place_where_its_string_is_known() -> None:
    cello = explained("D: D3*4 F3*4", instrument="cello")["bars"][0]["notes"]
    # three semitones above the open D of 690 mm: 690 (1 - 2^(-3/12)) = 109.78
    assert cello[1]["place_mm"] == pytest.approx(109.78, abs=MM)
    assert [cello[1][name] for name in ("finger", "position", "string")] == [None, None, "D"]
    flute = explained("C5*4 D5*4", instrument="flute")["bars"][0]["notes"]
    assert [flute[0][name] for name in ("finger", "position", "string", "place_mm")] == [None] * 4


def test_a_bass_sounds_an_octave_below_what_it_reads() -> None:
    (note,) = explained("D: A3*8", instrument="bass")["bars"][0]["notes"]
    assert note["hz"] == 110.0
    # seven semitones above the open D of 1060 mm
    assert note["place_mm"] == pytest.approx(352.53, abs=MM)


def test_the_climb_counts_its_bars_on_and_moves_every_note() -> None:
    data = explained("1*4 2*4 | 3*8", "climb = 3")
    assert [bar["bar"] for bar in data["bars"]] == [1, 2, 3, 4, 5, 6]
    pitches = [[note["pitch"] for note in bar["notes"]] for bar in data["bars"]]
    assert pitches == [["E4", "F4"], ["G4"], ["F4", "G4"], ["A4"], ["G4", "A4"], ["B4"]]
    assert column(data, "notes", "position") == [1, 1, 1, 2, 2, 2, 3, 3, 3]


def test_passes_are_not_told_again_and_again() -> None:
    assert explained("1*4 2*4", "passes = 5")["bars"] == explained("1*4 2*4", "passes = 2")["bars"]


# --- steps


def test_steps_have_their_names_by_letters_and_semitones() -> None:
    """Names by any book of rudiments: neighbours in letter and 1 or 2 semitones are steps."""
    data = explained("C5 D5 Eb5 F#5 F#5 F5 C5 C6", instrument="flute", key="C minor")
    assert column(data, "steps", "name") == [
        "whole step",
        "half step",
        "augmented second",
        "same note",
        "augmented unison",
        "perfect fourth",
        "octave",
    ]
    assert column(data, "steps", "semitones") == [2, 1, 3, 0, -1, -5, 12]


def test_a_step_has_its_size_in_the_temperament_of_the_drill() -> None:
    def sizes(temperament: str) -> list[float]:
        data = explained("1*2 2*2 3*2 4*2", f'tuning.temperament = "{temperament}"')  # E F G A
        return column(data, "steps", "cents")

    assert sizes("equal") == [100.0, 200.0, 200.0]
    # the limma 256/243 is 90.225 cents, the tone 9/8 is 203.910
    assert sizes("pythagorean") == [90.2, 203.9, 203.9]
    # 16/15 is 111.731 cents, 9/8 203.910, 10/9 182.404
    assert sizes("just") == [111.7, 203.9, 182.4]


def test_a_step_down_is_negative_and_one_fewer_than_the_notes() -> None:
    (bar,) = explained("4*2 3*2 2*2 1*2")["bars"]
    assert [step["semitones"] for step in bar["steps"]] == [-2, -2, -1]
    assert [step["cents"] for step in bar["steps"]] == [-200.0, -200.0, -100.0]
    assert explained("1*8")["bars"][0]["steps"] == []


# --- shifts

KINDS = """
1*4 p3: 1*4       |     | same finger      | G4  | 1 | E4 G4  | -  | minor third up      | 46.49 | heard
p3: 2*4 p1: 2*4   |     | same finger      | F4  | 2 | A4 F4  | -  | major third down    | 56.90 | heard
1*4 p3: 3*4       |     | old finger leads | B4  | 1 | E4 G4  | G4 | minor third up      | 46.49 | heard
p3: 4*4 p1: 1*4   |     | old finger leads | E4  | 4 | C5 A4  | A4 | minor third down    | 34.83 | heard
2*4 p3: 1*4       | old | old finger leads | G4  | 2 | F4 A4  | A4 | major third up      | 56.90 | heard
1*4 p3: 3*4       | new | new finger leads | B4  | 3 | G4 B4  | G4 | major third up      | 50.69 | heard
2*4 p3: 1*4       |     | exchange         | G4  | - | F4 G4  | A4 | whole step up       | 30.09 | heard
3*4 p3: 1*4       |     | substitution     | G4  | 1 | E4 G4  | -  | minor third up      | 46.49 | silent
D: 1*4 A: p3: 2*4 |     | across strings   | E5  | 1 | E4 G4  | G4 | minor third up      | 46.49 | heard
2*4 p3: -2*4      |     | unheard          | A4  | 1 | E4 G4  | -  | minor third up      | 46.49 | silent
2*4 2#*4          |     | half-step slide  | F#4 | 2 | F4 F#4 | -  | augmented unison up | 15.48 | silent
2*4 ~2#*4         |     | half-step slide  | F#4 | 2 | F4 F#4 | -  | augmented unison up | 15.48 | heard
2#*4 ~2*4         |     | half-step slide  | F4  | 2 | F#4 F4 | -  | augmented unison down | 15.48 | heard
3*4 ~1*4          |     | slide            | E4  | - | G4 E4  | -  | minor third down    | 46.49 | heard
1*4 ~3*4          |     | slide            | G4  | - | E4 G4  | -  | minor third up      | 46.49 | heard
"""  # noqa: E501
ROWS = [tuple(cell.strip() for cell in row.split("|")) for row in KINDS.strip().splitlines()]


@pytest.mark.parametrize("row", ROWS, ids=lambda row: f"{row[2]}: {row[0]}")
def test_a_shift_tells_its_kind_its_ways_ends_its_ghost_and_its_travel(
    row: tuple[str, ...],
) -> None:
    bar, lead, kind, to, finger, way, ghost, interval, mm, heard = row
    shift = only_shift(bar, f'slide.lead = "{lead} finger"' if lead else "")
    assert (shift["bar"], shift["beat"]) == (1, 2.0)
    assert (shift["kind"], shift["to"]) == (kind, to)
    assert shift["finger"] == (None if finger == "-" else int(finger))
    assert f"{shift['from_place']} {shift['to_place']}" == way
    assert shift["ghost"] == (None if ghost == "-" else ghost)
    assert f"{shift['interval']} {shift['direction']}" == interval
    assert shift["travel_mm"] == pytest.approx(float(mm), abs=MM)
    assert shift["heard"] is (heard == "heard")


@pytest.mark.parametrize("between", ["0", "r", "0 r", "r 0"])
def test_a_shift_over_an_open_string_or_a_rest_is_told_and_not_heard(between: str) -> None:
    rest = 8 - 4 - len(between.split())
    shift = only_shift(f"1*4 {between} p3: 1*{rest}")
    assert (shift["kind"], shift["heard"], shift["to_position"]) == ("unheard", False, 3)


def test_a_shift_says_to_which_position_it_leads() -> None:
    data = explained("1*2 p0: 2*2 p5: 1*2 p2: 1*2", ONE_PASS)
    assert [shift["to_position"] for shift in shifts(data)] == [0, 5, 2]


def test_a_finger_that_stays_where_it_is_moves_level() -> None:
    # finger 3 stretches to A4 and stands there in second position by the key
    shift = only_shift("3x*4 p2: 2*4")
    assert (shift["direction"], shift["interval"]) == ("level", "unison")


def test_no_millimetres_are_told_where_no_string_is_known() -> None:
    shift = only_shift("C5*4 ~E5*4", instrument="flute")
    assert (shift["travel_mm"], shift["finger"], shift["to_position"]) == (None, None, None)


def test_the_same_shift_is_shorter_on_a_smaller_instrument() -> None:
    small = drill_text("1*4 p3: 1*4", ONE_PASS).replace(
        'instrument = "violin"', 'instrument = { name = "violin", string_length_mm = 246 }'
    )
    (shift,) = shifts(told(small)[0])
    assert shift["travel_mm"] == pytest.approx(46.49 * 246 / 328, abs=MM)


def test_a_hand_that_stays_has_no_shift() -> None:
    assert shifts(explained("1*2 2*2 3*2 4*2")) == []
    assert shifts(explained("1*4 p2: 1x*4", ONE_PASS)) == []  # the position is only renamed


def test_the_way_on_to_the_next_place_of_the_climb_is_a_shift_of_its_first_bar() -> None:
    data = explained("1*4 p3: 1*4", ONE_PASS, "climb = 2")
    ways = [
        (shift["bar"], shift["beat"], shift["from_place"], shift["to_place"])
        for shift in shifts(data)
    ]
    assert ways == [(1, 2.0, "E4", "G4"), (2, 0.0, "G4", "F4"), (2, 2.0, "F4", "A4")]


# --- the way back for the next pass


def test_turns_tell_the_way_back_to_the_start_of_every_place() -> None:
    turns = explained("1*4 p3: 1*4", "passes = 2", "climb = 2")["turns"]
    assert [(turn["bar"], turn["beat"]) for turn in turns] == [(1, 0.0), (2, 0.0)]
    assert [(turn["from_place"], turn["to_place"]) for turn in turns] == [
        ("G4", "E4"),
        ("A4", "F4"),
    ]
    assert [turn["to_position"] for turn in turns] == [1, 2]
    assert {turn["kind"] for turn in turns} == {"same finger"}
    assert {turn["direction"] for turn in turns} == {"down"}


def test_a_turn_starts_in_the_last_of_several_bars() -> None:
    (turn,) = explained("1*8 | p2: 1*8 | p4: 1*8", "passes = 3")["turns"]
    assert (turn["bar"], turn["from_place"], turn["to_place"]) == (1, "A4", "E4")


def test_bars_of_click_leave_the_way_back_unheard() -> None:
    (turn,) = explained("1*4 p3: 1*4", "gap = 1")["turns"]
    assert (turn["kind"], turn["heard"]) == ("unheard", False)


@pytest.mark.parametrize(("bar", "setting"), [("1*4 p3: 1*4", ONE_PASS), ("1*4 2*4", "passes = 2")])
def test_without_a_second_pass_or_a_shift_there_is_no_turn(bar: str, setting: str) -> None:
    assert explained(bar, setting)["turns"] == []


# --- open strings

# Cents of each open string of the violin, E A D G, above the key's own degree on its letter. Open
# strings stand in pure fifths from A; what pure fifths and small ratios disagree by is the
# syntonic comma 81/80, 21.506 cents, and a sharp is the apotome 2187/2048, 113.685 cents.
OPEN_STRINGS = [
    ("equal", "C major", (0.0, 0.0, 0.0, 0.0), ""),
    ("pythagorean", "C major", (0.0, 0.0, 0.0, 0.0), ""),
    ("just", "C major", (21.5, 21.5, 0.0, 0.0), ""),  # third 5/4 and sixth 5/3
    ("just", "F major", (21.5, 21.5, 21.5, 0.0), ""),  # seventh 15/8, third, sixth, second 9/8
    ("just", "G major", (21.5, 0.0, 0.0, 0.0), ""),  # sixth 5/3, second 9/8, fifth, tonic
    ("just", "A minor", (0.0, 0.0, 0.0, -21.5), ""),  # minor seventh 9/5 against 16/9
    ("equal", "Bb major", (100.0, 0.0, 0.0, 0.0), "E"),
    ("pythagorean", "Bb major", (113.7, 0.0, 0.0, 0.0), "E"),
    ("equal", "A major", (0.0, 0.0, 0.0, -100.0), "G"),
    ("equal", "A harmonic minor", (0.0, 0.0, 0.0, -100.0), "G"),
]


@pytest.mark.parametrize(("temperament", "key", "apart", "strangers"), OPEN_STRINGS)
def test_open_strings_tell_how_far_they_stand_from_the_key(
    temperament: str, key: str, apart: tuple[float, ...], strangers: str
) -> None:
    data = explained("1*8", f'tuning.temperament = "{temperament}"', f'keys = ["{key}"]')
    strings = data["open_strings"]
    assert [(each["string"], each["pitch"]) for each in strings] == [
        ("E", "E5"),
        ("A", "A4"),
        ("D", "D4"),
        ("G", "G3"),
    ]
    assert [each["cents_from_key"] for each in strings] == pytest.approx(apart, abs=0.05)
    assert "".join(each["string"] for each in strings if not each["in_key"]) == strangers


def test_an_open_string_that_the_key_has_not_is_told_with_the_degree_that_it_has() -> None:
    strings = explained("1*8", 'keys = ["Eb major"]', instrument="viola")["open_strings"]
    assert [each["degree"] for each in strings] == ["Ab4", "D4", "G3", "C3"]
    assert [each["in_key"] for each in strings] == [False, True, True, True]


def test_what_has_no_strings_has_no_open_ones() -> None:
    assert explained("C5*8", instrument="flute")["open_strings"] == []


# --- bars an octave apart


@pytest.mark.parametrize(
    ("climb", "twins"),
    [
        ([1, 8], [None, (1, 1)]),  # the octave stands seven positions higher
        ([8, 1], [None, (1, -1)]),
        ([1, 8, 15], [None, (1, 1), (1, 2)]),  # of the earliest bar
        ([1, 2, 8], [None, None, (1, 1)]),
        ([1, 1], [None, None]),  # the same bar again is no twin
        ([1, 7], [None, None]),
    ],
)
def test_a_bar_names_the_earliest_one_that_it_repeats_octaves_apart(
    climb: list[int], twins: list[tuple[int, int] | None]
) -> None:
    data = explained("G: 1*8", f"climb = {climb}")
    expected = [None if twin is None else {"bar": twin[0], "octaves": twin[1]} for twin in twins]
    assert [bar["as_bar"] for bar in data["bars"]] == expected


@pytest.mark.parametrize(
    "bar",
    [
        "1*4 2*4 | p8: 1*4 3*4",  # other letters
        "1*4 2*4 | p8: 1*4 2#*4",  # another accidental
        "1*4 2*4 | p8: 1*2 2*6",  # other beats
        "1*4 2*4 | p8: 1*4 2*2 2*2",  # another number of notes
        "1*4 r*4 | r*4 p8: 1*4",  # later
    ],
)
def test_only_the_same_letters_accidentals_and_beats_make_a_twin(bar: str) -> None:
    assert [bar["as_bar"] for bar in explained(bar)["bars"]] == [None, None]


# --- warnings, and what is left out


def test_a_clean_drill_has_neither_warnings_nor_anything_left_out() -> None:
    data = explained("1*4 p3: 1*4", "climb = 3")
    assert (data["warnings"], data["left_out"]) == ([], [])


def test_warnings_name_bar_position_string_and_fingers() -> None:
    data = explained("1# 2 3 4 1*4", ONE_PASS)
    assert data["warnings"] == [
        "bar 1, position 1 on the D string: finger 2 (F4) does not sound above finger 1 (E#4)"
    ]


def test_six_semitones_between_two_fingers_are_within_the_hand_and_seven_a_stretch() -> None:
    assert explained("p2: 1*4 4*4", ONE_PASS)["warnings"] == []  # F4 to B4
    (warning,) = explained("p2: 1*4 4#*4", ONE_PASS)["warnings"]
    assert "F4 to B#4 stretches the hand" in warning


def test_places_beyond_a_pupils_reach_are_left_out_and_told() -> None:
    data = explained("1*4 p3: 1*4", "climb = 4", positions="1-4")
    assert [bar["bar"] for bar in data["bars"]] == [1, 2]
    assert data["left_out"] == [
        "the starting position that reaches position 5 is left out",
        "the starting position that reaches position 6 is left out",
    ]


def test_a_key_that_cannot_be_played_is_an_error_or_skipped_where_asked() -> None:
    text = drill_text("p0: 1*4 2*4", 'keys = ["C major", "Bb minor"]')
    with pytest.raises(PlayalongError, match="1 of 2 keys and strings cannot be played"):
        told(text)
    assert [data["key"] for data in told(text, "--skip-unplayable")] == ["C major"]
