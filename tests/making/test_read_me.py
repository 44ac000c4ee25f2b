"""What the player reads first, and the cautions in it."""

from __future__ import annotations

import pytest
from playing import drill_of

from playalong.guidance import CAUTIONS
from playalong.making.read_me import read_me_first

BAR = "1 2 3 1 p3: 1 2 p1: 2 1"


def words(text: str) -> str:
    return " ".join(text.split())


def test_every_caution_is_in_it() -> None:
    text = words(read_me_first(drill_of(BAR)))
    for caution in CAUTIONS:
        assert caution in text
    for promise in ("not medical advice", "Warm up", "rest", "numbness", "doctor", "low volume"):
        assert promise in text


def test_it_names_the_first_track_and_its_tempo() -> None:
    text = read_me_first(drill_of(BAR, 'stages = ["check"]\ntempo = { start = 72, goal = 80 }'))
    assert "01-072-check is the first, at 72 beats a minute" in words(text)


@pytest.mark.parametrize(("goal", "name"), [(83, "01-060-listen"), (84, "001-060-listen")])
def test_it_names_the_first_of_a_hundred_tracks_as_the_folder_does(goal: int, name: str) -> None:
    """Four stages in 24 tempi are 96 tracks, in 25 a hundred."""
    text = read_me_first(drill_of(BAR, f'tempo = {{ start = 60, goal = {goal}, step = "+1" }}'))
    assert f"of practice: {name} is the first" in words(text)


@pytest.mark.parametrize(
    ("count_in", "said"),
    [(1, "One bar leads in"), (2, "Two bars lead in"), (4, "Four bars lead in")],
)
def test_it_counts_the_bars_that_lead_in(count_in: int, said: str) -> None:
    assert said in words(read_me_first(drill_of(BAR, f"click.count_in = {count_in}")))


def test_without_a_drone_it_speaks_of_none() -> None:
    text = words(read_me_first(drill_of(BAR, 'drone.on = "off"\nstages = ["listen"]')))
    assert "drone" not in text


def test_a_stage_of_ones_own_is_the_teachers() -> None:
    text = read_me_first(drill_of(BAR, '[stage."slow bows"]\nguide = "full"'))
    assert "slow bows a stage of your teacher's own" in words(text)


def test_a_session_needs_no_hand_on_the_computer_and_its_rests_none_on_the_instrument() -> None:
    text = words(read_me_first(drill_of(BAR)))
    assert "so that you need not touch the computer; the rests between them are for putting" in text


@pytest.mark.parametrize(
    ("bar", "instrument", "told"),
    [
        (BAR, "violin", True),
        ("D: E3*4 G3*4", "cello", False),  # in pitches: no hand is known to shift
        ("C5*4 E5*4", "flute", False),
        ("E4=1*4 G4=1*4", "violin", False),
    ],
)
def test_it_speaks_of_shifts_where_the_drill_is_written_for_a_hand(
    bar: str, instrument: str, told: bool
) -> None:
    text = words(read_me_first(drill_of(bar, instrument=instrument)))
    assert ("In a shift, follow the slide with your ear" in text) == told


def test_its_lines_fit_a_printed_page() -> None:
    assert max(map(len, read_me_first(drill_of(BAR)).splitlines())) <= 92
