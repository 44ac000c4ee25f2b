"""Takes played by recorded notes along an exact pitch curve: what was played is what is told.

The whole table, over two instruments and eighteen conditions: `tests/bench/take_table.py`.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import parselmouth
import pytest
from played import Condition, take_of
from playing import play
from recorded import RATE_HZ
from takes import off_cents, told

from playalong.drill.load import load
from playalong.performance.perform import perform
from playalong.performance.timing import timeline_of
from playalong.score.writing import write
from playalong.sound.stems import render
from playalong.take import model
from playalong.take.listen import listen_to

DEMO = Path(__file__).parents[2] / "demo"


def test_every_note_is_judged_and_within_three_cents(playing):
    take, heard = playing(leak_db=-30)
    off = off_cents(take, heard)
    assert len(off) == len(take.notes)
    assert max(off) < 3
    assert np.median(off) < 0.6


def test_headphones_cost_only_the_absolute_moment(playing):
    take, heard = playing(leak_db=None)
    assert heard.placed.how == "playing"
    assert heard.placed.ppm is None
    assert heard.leak_db is None
    off = off_cents(take, heard)
    assert len(off) == len(take.notes)
    assert max(off) < 3


def test_with_headphones_slow_slides_pull_no_note_from_its_moment(recorded):
    """Whether a player is late in the middle is not known; how long they slide must not count."""
    performance = perform(write(load(DEMO / "04-old-finger-leads.toml")), 60, "check")
    timeline, sound = timeline_of(performance), render(performance)
    middle_ms = []
    for seed in (2, 1002):
        take = take_of(timeline, sound, recorded, Condition("", leak_db=None), seed)
        heard = told(listen_to(take.sound.astype(np.float32), sound, timeline))
        late_ms = [
            heard[index].onset_ms - truth.onset_ms
            for index, truth in take.notes.items()
            if (truth.fresh or truth.has_moment) and heard[index].onset_ms is not None
        ]
        middle_ms.append(np.median(late_ms))
    assert max(np.abs(middle_ms)) < 25


@pytest.mark.parametrize("ppm", [-100, 100])
def test_a_recorder_that_runs_fast_or_slow_is_found_out(playing, ppm):
    take, heard = playing(ppm=ppm)
    assert heard.placed.ppm == pytest.approx(ppm, abs=0.5)
    assert heard.placed.offset_seconds == pytest.approx(take.offset_seconds, abs=0.0001)
    assert max(off_cents(take, heard)) < 3


@pytest.mark.parametrize("leak_db", [-20, -30])
def test_no_note_in_tune_within_two_cents_is_taken_for_the_track(playing, leak_db):
    take, heard = playing(leak_db=leak_db, near=1.0)
    assert all(told(heard)[index].heard for index in take.notes)


@pytest.mark.parametrize("leak_db", [None, -15])
def test_a_take_in_which_nobody_plays_has_no_note(playing, leak_db):
    _, heard = playing(silent=True, leak_db=leak_db)
    assert not any(note.heard for note in heard.notes)
    assert not heard.shifts


def test_another_note_and_a_missing_one_are_told_as_what_they_are(playing):
    take, heard = playing(seed=4, wrong=0.25, missing=0.2)
    assert {truth.played for truth in take.notes.values()} == {True, False}
    for index, truth in take.notes.items():
        verdict = told(heard)[index].verdict
        if not truth.played:
            assert verdict == model.NOT_HEARD
        else:
            assert verdict == (model.ANOTHER if abs(truth.cents) > 50 else model.JUDGED)


@pytest.mark.parametrize(("seed", "leak_db"), [(3, -40), (1, None), (4, None)])
def test_a_note_that_rings_on_in_the_room_is_not_the_next_one(recorded, seed, leak_db):
    more = 'strings = ["D"]\nkeys = ["D major"]\nclimb = 2\nnote = "eighth"\n'
    performance = play("p1: 1 2 p3: 1 2 1 2 p1: 2 1", more, bpm=96, stage="alone")
    timeline, sound = timeline_of(performance), render(performance)
    condition = Condition("", missing=0.3, reverb_seconds=1.2, leak_db=leak_db)
    take = take_of(timeline, sound, recorded, condition, seed)
    heard = told(listen_to(take.sound.astype(np.float32), sound, timeline))
    assert sum(not truth.played for truth in take.notes.values()) > 5
    for index, truth in take.notes.items():
        assert heard[index].heard == truth.played


def test_a_pitch_that_is_bowed_again_begins_where_it_is_due_or_nobody_knows(recorded):
    """Never in the middle of a note, as where a bow only swells."""
    more = 'strings = ["D"]\nkeys = ["D major"]\nclimb = 2\nnote = "half"\n'
    performance = play("p1: 1 1 | 2 2", more, bpm=72, stage="alone")
    timeline, sound = timeline_of(performance), render(performance)
    take = take_of(timeline, sound, recorded, Condition("", slurs=False, leak_db=-30), 1)
    heard = told(listen_to(take.sound.astype(np.float32), sound, timeline))
    assert all(note.heard for note in heard.values())
    known = [index for index in take.notes if heard[index].onset_ms is not None]
    assert len(known) > 0.6 * len(take.notes)
    assert max(abs(heard[each].onset_ms - take.notes[each].onset_ms) for each in known) < 100


def test_a_note_an_octave_off_is_told_as_that(playing):
    take, heard = playing(seed=2, wrong=0.4, wrong_cents=(-1200, 1200))
    off = [index for index, truth in take.notes.items() if abs(truth.cents) > 1000]
    assert {np.sign(take.notes[index].cents) for index in off} == {-1, 1}
    assert all(told(heard)[index].verdict == model.ANOTHER for index in off)
    assert max(off_cents(take, heard)) < 3


@pytest.mark.parametrize("played_below", [False, True])
def test_a_drone_an_octave_below_is_not_the_note_and_a_player_there_is(recorded, played_below):
    drill = load(DEMO / "08-cello-two-or-three.toml")
    performance = perform(write(drill), 60, "check")
    timeline, sound = timeline_of(performance), render(performance)
    octaves = {"wrong": 1.0, "wrong_cents": (-1200,)} if played_below else {}
    condition = Condition("", leak_db=-10, near=0.3, **octaves)
    take = take_of(timeline, sound, recorded, condition, 2)
    heard = listen_to(take.sound.astype(np.float32), sound, timeline)
    wanted = model.ANOTHER if played_below else model.JUDGED
    assert {note.verdict for note in heard.notes} == {wanted}
    assert played_below or max(off_cents(take, heard)) < 5


def test_the_centre_of_a_vibrato_is_the_pitch(playing):
    take, heard = playing(vibrato=1.0)
    wide = [(index, each) for index, each in take.notes.items() if each.vibrato_cents]
    assert len(wide) > 5
    assert max(off_cents(take, heard)) < 4
    extents = [told(heard)[index].vibrato_cents - each.vibrato_cents for index, each in wide]
    assert np.median(np.abs(extents)) < 4


def test_a_fresh_bow_is_told_as_early_as_a_slur(playing):
    """Within 5 ms in the middle, each by its own moment."""
    late: dict[bool, list[float]] = {True: [], False: []}
    for seed in (1, 2):
        take, heard = playing(seed=seed, leak_db=-40)
        for index, truth in take.notes.items():
            onset = told(heard)[index].onset_ms
            if onset is not None and (truth.fresh or truth.has_moment):
                late[truth.fresh].append(onset - truth.onset_ms)
    assert abs(np.median(late[True])) < 5
    assert abs(np.median(late[False])) < 5


def test_a_shift_is_told_by_its_arrival_and_how_far_it_went_past(playing):
    late, past = [], []
    for seed in (1, 2, 3):
        take, heard = playing(seed=seed)
        for shift in heard.shifts:
            truth = take.notes[shift.into]
            if truth.arrival_ms is not None and shift.overshoot_cents is not None:
                late.append(shift.arrival_ms - truth.arrival_ms)
                past.append(shift.overshoot_cents - truth.overshoot_cents)
    assert len(late) > 6
    assert np.median(np.abs(late)) < 4
    assert np.median(np.abs(past)) < 3


def test_a_recording_that_begins_with_the_track_itself_keeps_its_first_sweep(track):
    timeline, sound = track
    heard = listen_to(sound, sound, timeline)
    assert heard.placed.how == "both"
    assert heard.placed.offset_seconds == pytest.approx(0, abs=0.0001)


def test_a_recorder_that_was_started_late_is_placed_by_the_close(playing):
    take, heard = playing(start_seconds=-5.0)
    assert heard.placed.how == "close"
    assert heard.placed.offset_seconds == pytest.approx(take.offset_seconds, abs=0.0005)


def test_a_recorder_started_in_the_count_in_is_placed_by_what_is_left_of_it(playing):
    take, heard = playing(start_seconds=-1.2, ppm=60)
    assert heard.placed.how == "both"
    assert heard.placed.ppm == pytest.approx(take.ppm, abs=1)
    assert heard.placed.offset_seconds == pytest.approx(take.offset_seconds, abs=0.0001)


def test_a_recorder_that_was_stopped_early_leaves_notes_out_and_says_so(playing):
    take, heard = playing(stop_seconds=-4.0)
    assert heard.placed.how == "count-in"
    assert model.OUTSIDE in {note.verdict for note in heard.notes}
    assert max(off_cents(take, heard)) < 3


def test_a_drop_out_is_told_and_no_drift_made_of_it(track, playing):
    from playalong.take.listen import listen_to

    take, _ = playing()
    timeline, sound = track
    at = round((take.offset_seconds + timeline.seconds / 2) * RATE_HZ)
    joined = np.delete(take.sound, np.s_[at : at + 551])  # 12.5 ms
    heard = listen_to(joined.astype(np.float32), sound, timeline)
    assert heard.placed.dropped
    assert heard.placed.ppm is None


def test_praat_hears_the_same_pitches(playing):
    """Boersma 1993, by autocorrelation: an independent tracker, on a clean take."""
    take, heard = playing(leak_db=-60, noise_db=-60)
    apart = []
    for note in heard.notes:
        if not note.judged or note.from_seconds is None:
            continue
        begin, end = (
            round((take.offset_seconds + each) * RATE_HZ)
            for each in (note.from_seconds, note.to_seconds - 0.05)
        )
        hz = note.note.hz
        pitch = parselmouth.Sound(take.sound[begin:end], RATE_HZ).to_pitch_ac(
            time_step=0.005, pitch_floor=hz / 2, pitch_ceiling=hz * 2, very_accurate=True
        )
        found = pitch.selected_array["frequency"]
        if (found > 0).sum() > 5:
            praat = 1200 * np.log2(np.median(found[found > 0]) / hz)
            apart.append(abs(note.cents - praat))
    assert len(apart) > 10
    assert np.median(apart) < 0.5
