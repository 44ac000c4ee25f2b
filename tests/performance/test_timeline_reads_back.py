"""A timeline's JSON gives the timeline back, and says which note each slide and ghost leads to."""

from __future__ import annotations

import json

import pytest
from exported import exported
from hypothesis import given, settings
from hypothesis import strategies as st
from strategies import scores

from playalong.drill.stage import STAGES, Stage
from playalong.errors import PlayalongError
from playalong.performance.perform import perform
from playalong.performance.timeline import Timeline
from playalong.performance.timing import timeline_of
from playalong.score.model import Score

ONE_PASS = 'note = "quarter"\npasses = 1\n'
ALL_STAGES = (*STAGES.values(), Stage("own", ("soft", "full", "landings"), "lighter", "sounded"))


@settings(max_examples=40)
@given(scores(), st.integers(40, 208), st.sampled_from(ALL_STAGES))
def test_whatever_a_timeline_holds_is_read_back(score: Score, bpm: int, stage: Stage) -> None:
    timeline = timeline_of(perform(score, bpm, stage))
    assert Timeline.from_json(timeline.to_json()) == timeline


@pytest.mark.parametrize("stage", ["listen", "answer", "check"])
def test_a_slide_and_its_ghost_lead_into_the_note_that_follows_them(stage: str) -> None:
    track = exported("1 p3: 3 p1: 1 p2: 1", ONE_PASS, stage=stage)
    listed = track.timeline["notes"]
    for entry in (*track.ghosts, *track.slides):
        landing = listed[entry["into"]]
        assert landing["role"] == "note"
        assert entry["from"] <= entry["to"] <= landing["from"] < landing["to"]
        between = [n for n in listed if n["role"] == "note" and n["from"] < landing["from"]]
        assert between[-1]["to"] == landing["from"]
    assert [listed[slide["into"]]["pitch"] for slide in track.slides[:3]] == ["B4", "E4", "F4"]
    assert [listed[ghost["into"]]["pitch"] for ghost in track.ghosts[:2]] == ["B4", "E4"]
    assert "into" not in listed[0]


def test_notes_of_one_voice_are_the_first() -> None:
    assert {note["voice"] for note in exported("1 p3: 3 1 2", ONE_PASS).timeline["notes"]} == {1}


@pytest.mark.parametrize(
    ("meter", "bar", "beats"),
    [
        # a quarter of the note that is left, before the beat of the landing
        ("4/4", "1*4 p3: 3*4", 2 - 2 / 4),
        ("2/2", "1*4 p3: 3*4", 1 - 1 / 4),
        ("6/8", "1*3 p3: 3*3", 1 - 1 / 4),
        ("3/8", "1*2 p3: 3", 2 - 2 / 4),
    ],
)
def test_a_ghost_is_told_by_the_beat_of_its_bar(meter: str, bar: str, beats: float) -> None:
    (ghost,) = exported(bar, f'meter = "{meter}"\npasses = 1', bpm=40).ghosts
    assert ghost["beat"] == pytest.approx(beats, abs=1e-6)


@pytest.mark.parametrize(
    "text",
    ["", "{", "[]", "3", "null", '{"format": "playalong timeline 9"}', '{"format": null}'],
)
def test_a_text_that_is_no_timeline_is_told(text: str) -> None:
    with pytest.raises(PlayalongError, match="this is not a timeline that can be read"):
        Timeline.from_json(text)


@pytest.mark.parametrize("name", ["bpm", "notes", "clicks", "slides", "drone", "tonic_hz"])
def test_a_timeline_that_lacks_a_field_is_told_with_its_name(name: str) -> None:
    data = exported("1 2 p3: 3 4", ONE_PASS).timeline
    del data[name]
    with pytest.raises(PlayalongError, match=f"this is not a timeline .*'{name}'"):
        Timeline.from_json(json.dumps(data))
