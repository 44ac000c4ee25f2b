"""What the player reads first, and the cautions in it."""

from __future__ import annotations

import pytest
from playing import drill_of

from playalong.drill.model import Drill
from playalong.guidance import PLAYER, cautions
from playalong.making.read_me import read_me_first
from playalong.score.writing import write

BAR = "1 2 3 1 p3: 1 2 p1: 2 1"


def read_me(drill: Drill) -> str:
    return read_me_first(drill, [write(drill, *pair) for pair in drill.pairs])


def words(text: str) -> str:
    return " ".join(text.split())


def test_every_caution_is_in_it() -> None:
    text = words(read_me(drill_of(BAR)))
    for caution in cautions(PLAYER):
        assert caution in text
    for promise in ("not medical advice", "Warm up", "rest", "numbness", "doctor", "low volume"):
        assert promise in text


def test_it_names_the_first_track_and_its_tempo() -> None:
    text = read_me(drill_of(BAR, 'stages = ["check"]\ntempo = { start = 72, goal = 80 }'))
    assert "01-072-check is the first, at 72 beats a minute" in words(text)


@pytest.mark.parametrize(("goal", "name"), [(83, "01-060-listen"), (84, "001-060-listen")])
def test_it_names_the_first_of_a_hundred_tracks_as_the_folder_does(goal: int, name: str) -> None:
    """Four stages in 24 tempi are 96 tracks, in 25 a hundred."""
    text = read_me(drill_of(BAR, f'tempo = {{ start = 60, goal = {goal}, step = "+1" }}'))
    assert f"of practice: {name} is the first" in words(text)


@pytest.mark.parametrize(
    ("count_in", "said"),
    [(1, "One bar leads in"), (2, "Two bars lead in"), (4, "Four bars lead in")],
)
def test_it_counts_the_bars_that_lead_in(count_in: int, said: str) -> None:
    assert said in words(read_me(drill_of(BAR, f"click.count_in = {count_in}")))


def test_without_a_drone_it_speaks_of_none() -> None:
    text = words(read_me(drill_of(BAR, 'drone.on = "off"\nstages = ["listen"]')))
    assert "drone" not in text


def test_a_stage_of_ones_own_is_the_teachers() -> None:
    text = read_me(drill_of(BAR, '[stage."slow bows"]\nguide = "full"'))
    assert "slow bows a stage of your teacher's own" in words(text)


def test_a_session_needs_no_hand_on_the_computer_and_its_rests_none_on_the_instrument() -> None:
    text = words(read_me(drill_of(BAR)))
    assert (
        "so that you need not touch the computer; rest between them with the instrument down"
        in text
    )


FOLLOW = "Where a slide is heard, follow it with your ear into its target"
LIGHT_NOTE = "a light note before the target shows where the old finger arrives"


@pytest.mark.parametrize(
    ("bar", "instrument", "told"),
    [
        (BAR, "violin", (FOLLOW,)),
        ("1*4 p3: 3*4", "violin", (FOLLOW, LIGHT_NOTE)),
        ("E4=1*4 G4=1*4", "violin", (FOLLOW,)),
        ("p3: 1*4 p1: 4*2 0*2", "violin", ()),  # contrary, and back over an open string
        ("1*4 3*4", "violin", ()),
        ("D: E3*4 G3*4", "cello", ()),  # in pitches: no hand is known to shift
        ("C5*4 E5*4", "flute", ()),
    ],
)
def test_it_speaks_of_the_slides_and_ghosts_that_are_heard(
    bar: str, instrument: str, told: tuple[str, ...]
) -> None:
    text = words(read_me(drill_of(bar, instrument=instrument)))
    assert tuple(each for each in (FOLLOW, LIGHT_NOTE) if each in text) == told


@pytest.mark.parametrize(
    ("bar", "instrument", "listen", "check"),
    [
        (
            BAR,
            "violin",
            ", with its slides left audible",
            "each note that a shift lands on sounds",
        ),
        ("p3: 1*4 p1: 4*4", "violin", "", "each note that a shift lands on sounds"),
        ("1*4 3*4", "violin", "", "the first note of every bar sounds"),
        ("C5*4 E5*4", "soprano", "", "the first note of every bar sounds"),
    ],
)
def test_stages_promise_only_what_is_heard(
    bar: str, instrument: str, listen: str, check: str
) -> None:
    text = words(read_me(drill_of(bar, "passes = 1", instrument=instrument)))
    play = "sing" if instrument == "soprano" else "play"
    assert f"listen the bar is played{listen}; then {play} along" in text
    assert f"check you {play}; {check} halfway through, so that you judge first" in text


def test_its_lines_fit_a_printed_page() -> None:
    assert max(map(len, read_me(drill_of(BAR)).splitlines())) <= 92
