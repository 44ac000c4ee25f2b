"""A grace note takes its time from what comes before, never from its bar."""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise

from hypothesis import given, settings
from hypothesis import strategies as st
from playing import play, written
from strategies import scores

from playalong.drill.stage import STAGES
from playalong.performance.perform import perform
from playalong.performance.timeline import Timeline
from playalong.performance.timing import timeline_of

IN_D = 'strings = ["D"]\npasses = 2\n'


def test_it_sounds_before_the_beat_and_shortens_the_note_before() -> None:
    one, grace, two = written(play("1*4 g:3 2*4", IN_D, bpm=60))[:3]
    assert (grace.start, grace.end) == (2 + 8 - Fraction(12, 100), 10)
    assert (one.end, two.start, two.end) == (grace.start, 10, 12)


def test_several_share_the_second_half_of_a_short_note() -> None:
    notes = written(play("1*1/2 g:3 g:4 2*15/2", IN_D, bpm=120))
    starts = [note.start - 8 for note in notes[:4]]
    quarter = Fraction(1, 4)  # of a quarter: a sixteenth note before
    assert starts == [0, quarter / 2, quarter * 3 / 4, quarter]


def test_it_may_begin_a_pass_and_then_takes_from_the_pass_before() -> None:
    performance = play("g:3 1*8", IN_D)
    grace, one, again, two = written(performance)
    assert grace.start < performance.music_start == one.start
    assert (one.end, again.end) == (again.start, two.start)
    assert two.start == one.start + 4
    assert performance.notes[0].note.pitch == one.note.pitch  # what the count-in gives


def test_a_rest_before_it_gives_its_time() -> None:
    one, grace, _ = written(play("1*4 r*2 g:3 2*2", IN_D))[:3]
    assert one.end == one.start + 2
    assert grace.start > one.end


def test_it_is_bowed_with_its_note_and_a_shift_into_it_is_heard() -> None:
    notes = written(play("p1: 1*4 p3: g:1 2*4", IN_D))
    assert notes[1].shares_bow_with(notes[2]) is False  # the bow begins with the grace note
    assert notes[2].shares_bow_with(notes[1])
    assert notes[1].slide is not None
    assert notes[1].slide.sounds
    assert notes[1].slide.end == notes[1].start


def test_nothing_slides_out_of_it() -> None:
    notes = written(play("p1: 1*4 g:2 p3: 2*4", IN_D))
    assert not notes[2].note.heard


def test_check_sounds_its_note_where_a_shift_lands_on_it() -> None:
    notes = written(play("p1: 1*4 p3: g:1 2*4", IN_D, stage="check"))
    assert [note.heard_from is not None for note in notes[:3]] == [False, False, True]


def test_the_timeline_tells_it_just_before_its_note() -> None:
    timeline = timeline_of(play("1*4 g:3 2*4", IN_D))
    grace, note = timeline.notes[2:4]
    assert (grace.grace, note.grace) == (True, False)
    assert (grace.beat, note.beat) == (2 - 1 / 64, 2.0)
    assert Timeline.from_json(timeline.to_json()) == timeline


@settings(max_examples=40)
@given(scores(), st.integers(40, 208), st.sampled_from(tuple(STAGES.values())))
def test_notes_never_overlap_and_only_grace_notes_leave_their_written_place(
    score, bpm, stage
) -> None:
    performance = perform(score, bpm, stage)
    notes = written(performance)
    places = iter(notes)
    for each in performance.passes:
        for note in each.notes:
            played = next(places)
            if not note.is_grace:
                assert played.start == each.start + note.start
            assert played.start < played.end
    for old, new in pairwise(notes):
        assert old.end <= new.start
        if new.note.is_grace and not old.note.is_grace:
            assert old.end - old.start >= old.note.length / 4
