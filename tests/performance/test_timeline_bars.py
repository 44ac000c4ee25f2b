"""The timeline's bars: every beat from the first frame to the end of the music."""

from __future__ import annotations

import json
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from playing import drill_of, play
from strategies import scores

from playalong.drill.stage import STAGES, Stage
from playalong.performance.perform import perform
from playalong.performance.timeline import Timeline
from playalong.performance.timing import timeline_of
from playalong.score.model import Score
from playalong.score.writing import write


@settings(max_examples=25, deadline=None)
@given(scores(), st.integers(40, 208), st.sampled_from(tuple(STAGES.values())))
def test_bars_follow_one_another_and_hold_every_click_and_note(
    score: Score, bpm: int, stage: Stage
) -> None:
    performance = perform(score, bpm, stage)
    timeline = timeline_of(performance)
    bars = timeline.bars
    assert bars[0].from_seconds == 0
    end = performance.clock.seconds(performance.music_end)
    assert bars[-1].to_seconds == pytest.approx(end, abs=1e-6)
    for bar, after in pairwise(bars):
        assert bar.to_seconds == after.from_seconds
    for bar in bars:
        assert bar.beats_seconds[0] == bar.from_seconds
        whole = -(-score.drill.meter.beats // 1)
        assert 1 <= len(bar.beats_seconds) <= whole
        seconds = performance.clock.seconds(score.drill.meter.bar)
        if bar.to_seconds - bar.from_seconds > seconds - 0.01:
            assert len(bar.beats_seconds) == whole
        assert list(bar.beats_seconds) == sorted(set(bar.beats_seconds))
        assert bar.beats_seconds[-1] < bar.to_seconds
    beats = {at for bar in bars for at in bar.beats_seconds}
    assert {click.at_seconds for click in timeline.clicks if click.count_in} <= beats
    for note in timeline.notes:
        (bar,) = (each for each in bars if each.from_seconds <= note.from_seconds < each.to_seconds)
        if not note.grace:  # which takes its time from what comes before
            assert (bar.bar, bar.pass_number) == (note.bar, note.pass_number)


def test_bars_are_told_by_number_and_pass_also_where_the_click_is_alone() -> None:
    more = "passes = 2\nclimb = 2\ngap = 1\nclick.count_in = 1"
    timeline = timeline_of(play("1 2 3 1 p3: 1 2 p1: 2 1 | 1*4 2*4", more))
    assert [(bar.bar, bar.pass_number) for bar in timeline.bars] == [
        (0, 0),
        *[(1, 1), (2, 1), (None, 1), (1, 2), (2, 2), (None, 2)],
        *[(3, 1), (4, 1), (None, 1), (3, 2), (4, 2)],
    ]


def test_a_part_of_the_climb_counts_on_in_its_bars() -> None:
    score = write(drill_of("1 2 3 1 p3: 1 2 p1: 2 1", "climb = 3\npasses = 1"))
    timeline = timeline_of(perform(score, 60, STAGES["listen"], stands=slice(1, 3)))
    assert [bar.bar for bar in timeline.bars] == [0, 0, 2, 3]


def test_bars_are_read_back_and_a_timeline_without_them_is_read_too() -> None:
    timeline = timeline_of(play("1 2 3 1 p3: 1 2 p1: 2 1", "gap = 1"))
    assert Timeline.from_json(timeline.to_json()) == timeline
    told = json.loads(timeline.to_json())
    assert list(told)[-1] == "bars"
    assert list(told["bars"][0]) == ["from", "to", "bar", "pass", "beats"]
    del told["bars"]
    old = Timeline.from_json(json.dumps(told))
    assert old.bars == ()
    assert old.notes == timeline.notes
