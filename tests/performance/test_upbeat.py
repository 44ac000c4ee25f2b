"""An upbeat in time: the count-in leads into it, and one pass joins on to the next."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from playing import midi_bytes, play, written
from smf import read
from strategies import scores

from playalong.drill.stage import STAGES
from playalong.performance.perform import perform
from playalong.performance.timeline import Timeline
from playalong.performance.timing import timeline_of

WALTZ = "3 | 1 2 3 | 1 2"
IN_THREE = 'meter = "3/4"\nnote = "quarter"\nupbeat = "1"\nstrings = ["D"]\npasses = 2\n'


def test_the_upbeat_takes_the_last_beat_of_the_count_in() -> None:
    performance = play(WALTZ, IN_THREE)
    assert performance.music_start == 5
    counted = [click.at for click in performance.clicks if click.count_in]
    assert counted == [0, 1, 2, 3, 4]
    assert written(performance)[0].start == 5


def test_every_pass_joins_on_to_the_next_in_whole_bars() -> None:
    performance = play(WALTZ, IN_THREE)
    assert [each.start for each in performance.passes] == [5, 11]
    downbeats = [click.at for click in performance.clicks if click.accent]
    assert downbeats == [0, 3, 6, 9, 12, 15, 18]  # the last is the close
    assert performance.music_end == 18  # a beat after the last note, so that the bar is whole


def test_with_click_between_passes_the_bars_stay_whole_too() -> None:
    performance = play(WALTZ, IN_THREE + "gap = 2")
    bars = [(bar.start, bar.end, bar.number, bar.beat) for bar in performance.bars[2:]]
    assert bars[:6] == [
        (5, 6, 1, -1),
        (6, 9, 1, 0),
        (9, 12, 2, 0),
        (12, 15, None, 0),
        (15, 17, None, 0),
        (17, 18, 1, -1),
    ]


@pytest.mark.parametrize(
    ("count_in", "upbeat", "bar", "start", "drone", "given"),
    [
        (2, "1", "3 | 1*7", Fraction(15, 2), 4, Fraction(23, 4)),
        (2, "6", "3*6 | 1*2", 9, 4, 6),  # a long upbeat has a bar more before it
        (1, "1", "3 | 1*7", Fraction(7, 2), Fraction(7, 4), Fraction(21, 8)),
        (1, "6", "3*6 | 1*2", 5, 2, 3),
    ],
)
def test_the_first_note_is_given_before_the_middle_of_its_bar_and_before_the_upbeat(
    count_in: int, upbeat: str, bar: str, start: int, drone: int, given: int
) -> None:
    more = f'upbeat = "{upbeat}"\nclick.count_in = {count_in}'
    performance = play(bar, more)
    first = performance.notes[0]
    assert performance.music_start == start
    assert (first.start, first.end) == (drone, given)
    assert performance.drone is not None
    assert performance.drone.start == drone


def test_the_timeline_tells_the_upbeat_by_the_bar_it_leads_to() -> None:
    timeline = timeline_of(play(WALTZ, IN_THREE, bpm=60))
    bar = timeline.bars[2]
    assert (bar.bar, bar.pass_number, bar.beat) == (1, 1, -1.0)
    assert bar.beats_seconds == (bar.from_seconds,)
    assert bar.from_seconds == pytest.approx(5, abs=32 / 44_100)  # the nearest block
    assert [note.beat for note in timeline.notes[1:4]] == [-1.0, 0.0, 1.0]
    assert Timeline.from_json(timeline.to_json()) == timeline


def test_an_upbeat_within_a_beat_has_no_click_of_its_own() -> None:
    performance = play("3 | 1*7", 'upbeat = "1"')
    assert performance.music_start not in {click.at for click in performance.clicks}
    assert performance.music_start + Fraction(1, 2) in {click.at for click in performance.clicks}


def test_without_shifts_check_sounds_the_first_note_after_each_bar_line() -> None:
    notes = written(play(WALTZ, IN_THREE, stage="check"))
    late = [note.note.beat for note in notes if note.heard_from is not None]
    assert late == [0, 0] * 2


def test_markers_name_the_upbeat() -> None:
    conductor = read(midi_bytes(play(WALTZ, IN_THREE))).tracks[0]
    texts = [event.data[2:].decode() for event in conductor if event.data[:2] == b"\xff\x06"]
    assert texts[:5] == [
        "count-in 1",
        "count-in 2",
        "upbeat to bar 1, pass 1",
        "bar 1, pass 1",
        "bar 2, pass 1",
    ]


@settings(max_examples=40)
@given(scores(), st.sampled_from(tuple(STAGES.values())))
def test_bar_lines_stand_in_whole_bars_from_the_first_frame_to_the_last(score, stage) -> None:
    performance = perform(score, 60, stage)
    bar = score.drill.meter.bar
    for each in performance.bars:
        assert each.line % bar == 0
        assert each.start == each.line or each.beat < 0
        assert each.end - each.line <= bar
    assert performance.music_end % bar == 0
    assert performance.length % bar == 0
