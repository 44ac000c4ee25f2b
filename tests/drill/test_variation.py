"""A variation is the one way to change a drill from outside, and says what does not fit."""

from pathlib import Path

import pytest
from hypothesis import given
from strategies import drills

from playalong.drill.load import load, parse
from playalong.drill.model import Drill
from playalong.drill.origin import SettingError
from playalong.drill.variation import AS_WRITTEN, Variation, parse_positions
from playalong.music.key import parse_key

TEXT = """
title = "x"
instrument = "viola"
bar = "(1 2 3 1) p3: 1 2 p1: 2 1"
keys = ["F major"]
strings = ["D"]
[tempo]
start = 60
goal = 80
[stage.soft]
guide = "soft"
"""


@pytest.fixture
def drill() -> Drill:
    return parse(TEXT)


def test_what_is_given_takes_the_place_of_the_drills_own(tmp_path: Path) -> None:
    file = tmp_path / "try.toml"
    file.write_text(TEXT)
    mine = Variation(("Bb major",), ("c", "G"), ("soft", "alone"), goal=100, positions=(1, 4))
    varied = load(file, mine)
    assert (varied.keys, varied.strings) == ((parse_key("Bb major"),), ("C", "G"))
    assert [stage.name for stage in varied.stages] == ["soft", "alone"]
    assert (varied.tempo.start, varied.tempo.goal, varied.positions) == (60, 100, (1, 4))


@given(drills())
def test_no_variation_changes_nothing(drill: Drill) -> None:
    assert AS_WRITTEN.of(drill) == drill


def test_a_goal_that_was_never_written_follows_the_start() -> None:
    plain = parse('title = "x"\ninstrument = "violin"\nbar = "1*8"\n')
    varied = Variation(start=80).of(plain)
    assert (varied.tempo.start, varied.tempo.goal) == (80, 80)


@pytest.mark.parametrize(
    ("variation", "setting", "message"),
    [
        (Variation(keys=("H",)), "keys", '"H" is not a key; write it like "F major"'),
        (Variation(keys=("C major", "C major")), "keys", '"C major" stands twice'),
        (Variation(strings=("E",)), "strings", 'viola has no "E" string'),
        (Variation(stages=("alon",)), "stages", '"alon" is not a stage; did you mean "alone"'),
        (Variation(start=19), "tempo.start", "19 is outside 20 to 320 beats a minute"),
        (Variation(goal=321), "tempo.goal", "321 is outside 20 to 320 beats a minute"),
        (Variation(start=81), "tempo.goal", "80 lies below the start, 81; the ladder climbs"),
        (Variation(goal=59), "tempo.goal", "59 lies below the start, 60; the ladder climbs"),
    ],
)
def test_what_does_not_fit_names_the_setting(
    drill: Drill, variation: Variation, setting: str, message: str
) -> None:
    with pytest.raises(SettingError, match=message) as caught:
        variation.of(drill)
    assert caught.value.setting == setting


@pytest.mark.parametrize("bpm", [20, 320])
def test_the_slowest_and_the_fastest_tempo_are_taken(drill: Drill, bpm: int) -> None:
    assert Variation(start=bpm, goal=bpm).of(drill).tempo.start == bpm


def test_a_drill_that_names_its_strings_takes_no_other() -> None:
    named = parse('title = "x"\ninstrument = "violin"\nbar = "D: 1*8"\n')
    with pytest.raises(SettingError, match=r"strings: the bar names its strings itself \(D:\)"):
        Variation(strings=("A",)).of(named)


def test_a_drone_that_a_new_key_makes_too_low_to_hear_is_told() -> None:
    drill = parse(
        'title = "x"\ninstrument = "cello"\nbar = "C3*8"\nkeys = ["F major"]\ndrone.octave = -2\n'
    )
    assert Variation(keys=("E major",)).of(drill).keys == (parse_key("E major"),)  # E0, 20.6 Hz
    with pytest.raises(SettingError, match=r"drone\.octave: the drone would sound Eb0, too low"):
        Variation(keys=("Eb major",)).of(drill)


@pytest.mark.parametrize(
    ("text", "positions"), [("1-4", (1, 4)), ("3", (3, 3)), (" 0-999 ", (0, 999)), ("2-2", (2, 2))]
)
def test_a_reach_is_a_lowest_and_a_highest_position(text: str, positions: tuple[int, int]) -> None:
    assert parse_positions(text) == positions


@pytest.mark.parametrize("text", ["", "-", "1-", "-4", "a-b", "1-1000", "1.5", "1-2-3", "²"])
def test_what_is_no_reach_is_told_as_it_was_written(text: str) -> None:
    with pytest.raises(SettingError, match="is not a reach like 1-4") as caught:
        parse_positions(text)
    assert f'"{text}"' in str(caught.value)


def test_a_reach_upside_down_comes_with_the_right_way_round() -> None:
    with pytest.raises(SettingError, match='positions: "4-1" is upside down; did you mean "1-4"'):
        parse_positions("4-1")


@pytest.mark.parametrize(
    ("variation", "narrows"),
    [
        (AS_WRITTEN, False),
        (Variation(keys=("F major",)), True),
        (Variation(strings=("D",)), True),
        (Variation(stages=("alone",)), True),
        (Variation(start=60), True),
        (Variation(goal=80), True),
        (Variation(positions=(1, 4)), False),  # the same tracks, with fewer places in them
    ],
)
def test_a_choice_of_keys_strings_stages_or_tempi_may_leave_tracks_out(
    variation: Variation, narrows: bool
) -> None:
    assert variation.narrows is narrows
