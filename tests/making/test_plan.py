"""The plan: every track in the order of practice, and what cannot be played, told at once."""

from __future__ import annotations

from itertools import groupby
from pathlib import PurePosixPath

import pytest
from playing import BANK, drill_of, play_drill

from playalong.drill.origin import DrillError
from playalong.drill.variation import Variation
from playalong.making.plan import Options, Plan, plan_build
from playalong.score.resolving import UnplayableError
from playalong.sound.audio import AudioError

BAR = "1 2 3 1 p3: 1 2 p1: 2 1"
HALF_POSITION = "p0: 1 2 3 4 1 2 3 4"  # where E is flat, fingers 1 and 2 share a place


def plan(
    bar: str, more: str = "", *, positions: tuple[int, int] | None = None, **options: object
) -> Plan:
    drill = Variation(positions=positions).of(drill_of(bar, more))
    return plan_build(drill, Options(BANK, **options))  # type: ignore[arg-type]


def test_tracks_are_numbered_within_their_key_and_string_every_stage_then_the_next_rung() -> None:
    more = 'keys = ["F major", "Bb minor"]\nstrings = ["D", "A"]\ntempo = { start = 60, goal = 66 }'
    made = plan(BAR, more)
    folders = [str(folder) for folder, _ in groupby(made.rungs, key=lambda rung: rung.folder)]
    assert folders == ["F-major/D", "F-major/A", "B-flat-minor/D", "B-flat-minor/A"]
    first = [str(track.stem) for track in made.tracks[:12]]
    stages = ("listen", "answer", "check", "alone")
    assert first == [
        f"F-major/D/{number:02}-{bpm:03}-{stage}"
        for number, (bpm, stage) in enumerate(
            ((bpm, stage) for bpm in (60, 63, 66) for stage in stages), 1
        )
    ]
    assert len(made.tracks) == 4 * 12
    assert [track.number for track in made.tracks] == [*range(1, 13)] * 4


def test_a_hundred_tracks_take_three_digits() -> None:
    made = plan(BAR, 'tempo = { start = 60, goal = 90, step = "+1" }')
    assert made.tracks[0].stem.name == "001-060-listen"
    assert made.tracks[-1].stem.name == "124-090-alone"


def test_a_drill_that_names_its_strings_lies_in_all() -> None:
    assert plan("D: 1 2 3 4 A: 1 2 3 4").rungs[0].folder == PurePosixPath("C-major/all")


def test_stages_whose_names_fold_to_one_get_files_of_their_own() -> None:
    own = "".join(
        f'[stage."{name}"]\nguide = "full"\n' for name in ("Slow bow", "slow-bow", "slow_bow")
    )
    made = plan(BAR, f'stages = ["Slow bow", "slow-bow", "slow_bow"]\n{own}')
    assert [track.stem.name for track in made.tracks] == [
        "01-060-slow-bow",
        "02-060-slow-bow",
        "03-060-slow-bow",
    ]


@pytest.mark.parametrize("stage", ["listen", "answer", "check", "alone"])
@pytest.mark.parametrize(
    ("meter", "bar"), [("4/4", BAR), ("2/2", BAR), ("6/8", "1 2 3 p3: 1 2 3"), ("3/8", "1 2 3")]
)
def test_a_planned_track_is_as_long_as_it_will_be(stage: str, meter: str, bar: str) -> None:
    more = f'stages = ["{stage}"]\npasses = 1\ngap = 1\nclimb = 3\ntempo.start = 72'
    drill = drill_of(bar, f'{more}\nmeter = "{meter}"')
    (track,) = plan_build(drill, Options(BANK)).tracks
    assert track.seconds == play_drill(drill, 72, stage).seconds


def test_all_rungs_of_a_key_and_string_share_one_score() -> None:
    drill = drill_of(BAR, 'keys = ["C major", "G major"]\ntempo = { start = 60, goal = 80 }')
    made = plan_build(drill, Options(BANK))
    assert len(made.scores) == 2
    assert {id(rung.score) for rung in made.rungs} == {id(score) for score in made.scores}
    rung = made.rungs[0]
    assert {rung: 1.0}[rung] == 1.0  # a rung can be a key


OWN = """
[stage.dry]
guide = "full"
drone = false
click = false
[stage.drone]
guide = "full"
click = false
[stage.click]
guide = "full"
drone = false
[stage.soft]
guide = "soft"
[stage.half]
guide = ["full", "silent"]
[stage.quiet]
guide = "silent"
"""


@pytest.mark.parametrize(
    ("stages", "fullest"),
    [
        (("alone", "check", "answer", "listen"), "listen"),
        (("alone", "check", "answer"), "answer"),  # half of its passes
        (("alone", "check"), "check"),
        (("dry", "listen"), "listen"),  # as much guide, and a drone and a click besides
        (("alone", "dry"), "dry"),  # a guide is more than drone and click
        (("soft", "dry"), "dry"),
        (("quiet", "check", "soft"), "soft"),
        (("click", "drone"), "drone"),  # a drone is more than a click
        (("dry", "click"), "click"),
        (("half", "soft"), "half"),  # of equals the first
    ],
)
def test_the_fullest_stage_has_most_of_the_guide_then_a_drone_then_a_click(
    stages: tuple[str, ...], fullest: str
) -> None:
    listed = ", ".join(f'"{name}"' for name in stages)
    (rung,) = plan(BAR, f"stages = [{listed}]\n{OWN}").rungs
    assert rung.fullest.name == fullest


# --- what cannot be played


def test_every_pair_that_cannot_be_played_is_listed_in_one_error() -> None:
    keys = 'keys = ["C major", "Eb major", "F major", "Ab major"]'
    with pytest.raises(DrillError, match="2 of 4 keys and strings cannot be played") as caught:
        plan(HALF_POSITION, keys)
    told = str(caught.value).splitlines()
    assert told[1].startswith('  Eb major on the D string: "1": in half position')
    assert told[2].startswith('  Ab major on the D string: "1": in half position')
    assert told[3] == "--skip-unplayable makes the others"


def test_skipping_makes_the_others_and_tells_what_is_left_out() -> None:
    made = plan(HALF_POSITION, 'keys = ["C major", "Eb major"]', skip_unplayable=True)
    assert {str(rung.key) for rung in made.rungs} == {"C major"}
    (told,) = made.skipped
    assert told.startswith("Eb major on the D string: ")


def test_one_pair_alone_is_told_by_its_own_error() -> None:
    with pytest.raises(UnplayableError, match='line 3: "1": in half position on the D string'):
        plan(HALF_POSITION, 'keys = ["Eb major"]')


def test_nothing_left_to_play_is_an_error_even_when_skipping() -> None:
    with pytest.raises(DrillError, match="2 of 2 keys and strings cannot be played") as caught:
        plan(HALF_POSITION, 'keys = ["Eb major", "Ab major"]', skip_unplayable=True)
    assert "--skip-unplayable" not in str(caught.value)


# --- a pupil's reach


def test_places_beyond_the_reach_are_left_out_and_told() -> None:
    made = plan(BAR, "climb = 4", positions=(1, 4))
    assert made.left_out == (
        "C major on the D string: the starting position that reaches position 5 is left out",
        "C major on the D string: the starting position that reaches position 6 is left out",
    )
    shorter = plan(BAR, "climb = 2")
    assert [track.seconds for track in made.tracks] == [track.seconds for track in shorter.tracks]


def test_no_place_within_the_reach_is_an_error() -> None:
    with pytest.raises(
        UnplayableError, match="no starting position of the climb lies within positions 4-5"
    ):
        plan(BAR, positions=(4, 5))


# --- options


def test_tracks_are_mp3_unless_asked_otherwise() -> None:
    assert Options(BANK).ending == ".mp3"
    assert Options(BANK, format="flac").ending == ".flac"


def test_what_is_made_where_nothing_is_said() -> None:
    """As `playalong make --help` has it: mp3, one track in both ears, sheet, page and session."""
    options = Options(BANK)
    assert (options.format, options.bitrate_kbps, options.ending) == ("mp3", None, ".mp3")
    assert (options.stems, options.split, options.channels) == (False, False, 1)
    assert (options.sessions, options.whole_ladder) == (True, False)
    assert (options.sheet, options.paper) == (True, "A4")
    assert (options.page, options.one_file, options.skip_unplayable) == (True, False, False)
    assert Options(BANK, split=True).channels == 2


def test_an_unknown_format_is_refused_where_the_options_are_made() -> None:
    with pytest.raises(AudioError, match='unknown audio format "mp4"; did you mean "mp3"'):
        Options(BANK, format="mp4")
