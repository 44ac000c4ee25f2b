"""What many notes have in common, and when a tendency may be told."""

from __future__ import annotations

from dataclasses import replace

import pytest
from takes_by_hand import heard_of

from playalong.take import model, words
from playalong.take.against import judged_against, nearer
from playalong.take.marks import came, name, told
from playalong.take.progress import Figures, keep
from playalong.take.summary import classes, groups, landings, sign_chance


def test_a_split_of_nine_to_two_comes_by_chance_once_in_fifteen_times():
    """The binomial by hand: 2 (1 + 11 + 55) / 2048."""
    assert sign_chance(9, 11) == pytest.approx(134 / 2048)
    assert sign_chance(2, 11) == sign_chance(9, 11)


def test_a_tendency_is_told_only_beyond_chance():
    steady = heard_of([12.0, 9, 14, 11, 8, 13, 12, 10, 15, 9, 11, 12])
    assert any("high 12 of 12 times" in line for line in words.tendencies([steady]))
    mixed = heard_of([12.0, -9, 14, -11, 8, 13, -12, 10, 15, 9, 11, 12])
    assert not [group for group in groups([mixed]) if group.tends]


def test_a_group_of_four_is_not_told():
    assert groups([heard_of([12.0, 9, 14, 11])]) == []


def test_counts_add_up_over_takes():
    one = heard_of([12.0, 9, 14])
    (finger,) = [group for group in groups([one, one]) if group.name == "Finger 1"]
    assert finger.notes == 6


def test_classes_are_counted_by_distance():
    found = classes(heard_of([0.0, -5, 5.1, -15, 15.1]).notes)
    counts = [len(each) for each in (found.within_5, found.within_15, found.beyond)]
    assert counts == [2, 2, 1]
    assert found.typical_cents == pytest.approx(5.1)


def test_an_open_string_is_told_apart_as_its_tuning():
    heard = heard_of([-6.0, 2, 3], fingers=[0, 1, 1])
    assert len(classes(heard.notes).within_5) == 2
    assert "Open D string: −6 cents; that is how it is tuned." in words.distances(heard)


def test_no_word_blames_or_ranks():
    heard = heard_of([40.0, -30, 20, 9, 3, 45, 33])
    told = " ".join([*words.report(heard), *words.FOOT]).casefold()
    for word in ("wrong", "bad", "score", "rank", "tense", "wrist", "thumb", "%"):
        assert word not in told


def test_landings_are_true_past_or_short():
    heard = heard_of([0.0, 0, 0], overshoots=[3.0, 20.0, -12.0])
    found = landings(heard)
    assert [len(each) for each in (found.true, found.past, found.short)] == [1, 1, 1]
    assert (found.past_cents, found.short_cents) == (20.0, 12.0)


def test_what_lands_off_the_note_and_stays_is_not_told_as_true_and_none_is_left_out():
    heard = heard_of([2.0, 25, 0], overshoots=[3.0, 3.0, 3.0])
    unknown = replace(heard.shifts[2], overshoot_cents=None)
    heard = replace(heard, shifts=(*heard.shifts[:2], unknown))
    assert words.shift_lines(heard) == [
        "3 heard: 1 landed true, 1 landed off the note and stayed, 1 cannot be told"
    ]
    assert came(heard.shifts[1], heard.notes[1], heard.placed)[-1] == "landed there and stayed"


def test_moments_are_told_in_words_and_not_where_they_cannot_be_known():
    heard = heard_of([0.0], overshoots=[0.0])
    shift = replace(heard.shifts[0], arrival_ms=-70.0)
    places = {"both": {}, "playing": {"how": "playing"}, "dropped": {"dropped": True}}
    said = {
        name: came(shift, heard.notes[0], replace(heard.placed, **place))[0]
        for name, place in places.items()
    }
    assert said == {
        "both": "arrived 0.07 s early",
        "playing": "arrived 0.07 s earlier than most",
        "dropped": "landed true",
    }
    dropped = replace(heard, placed=replace(heard.placed, dropped=True)).data()
    assert dropped["shifts"][0]["arrival_ms"] is dropped["notes"][0]["onset_ms"] is None


def test_judging_against_pure_fifths_moves_the_targets_by_what_the_tables_say():
    """E is a pure fifth above A: 702 cents, so two more than equal (common practice)."""
    heard = heard_of([2.0], pitches=["E4"])
    assert judged_against(heard, "pythagorean").notes[0].cents == pytest.approx(0.04, abs=0.02)


def test_judging_again_tells_how_many_notes_are_told_otherwise():
    heard = judged_against(heard_of([-13.0, 0.0], pitches=["F#4", "D4"]), "just")
    assert heard.remarks == (
        "Against equal temperament, as the track sounds, 1 of the notes would be told otherwise.",
    )
    assert judged_against(heard_of([-13.0]), "equal").remarks == ()


def test_notes_that_agree_on_another_temperament_are_told_so():
    """F sharp in D major: a pure third is 386.3 cents, an equal one 400 (handbook values)."""
    heard = heard_of([-13.0, -12.5, -14, -13.5], pitches=["F#4"] * 4, key="D major")
    assert any("just intonation" in line for line in nearer(heard))
    near = replace(heard, notes=heard_of([0.0] * 4, pitches=["F#4"] * 4, key="D major").notes)
    assert nearer(near) == []


def test_the_thumb_is_called_so_and_never_by_its_number_in_data():
    heard = heard_of([12.0, 9, 14, 11, 8], fingers=[-1] * 5)
    assert "The thumb" in [group.name for group in groups([heard])]
    assert ", the thumb, " in f"{name(heard.notes[0])}, "


def test_notes_of_another_pass_and_of_an_upbeat_have_names_of_their_own():
    heard = heard_of([0.0]).notes[0]
    again = replace(heard, note=replace(heard.note, pass_number=2))
    upbeat = replace(heard, note=replace(heard.note, beat=-1.0))
    grace = replace(heard, note=replace(heard.note, beat=1.5 - 2 / 64, grace=True))
    assert name(heard).startswith("Bar 1 beat 1, ")
    assert name(again).startswith("Bar 1 beat 1, pass 2, ")
    assert name(upbeat).startswith("Upbeat to bar 1, ")
    assert name(grace).startswith("Bar 1 beat 2½ (grace note), ")


def test_places_are_named_as_players_name_them_and_only_by_bar_where_they_are_many():
    notes = heard_of([20.0] * 24).notes
    beats = [(1, -1.0), (1, 4 / 3), (2, -1 / 64), (2, 0.0), (2, 2.0)]
    some = [
        replace(each, note=replace(each.note, bar=bar, beat=beat, grace=beat == -1 / 64))
        for each, (bar, beat) in zip(notes, beats, strict=False)
    ]
    assert words.places(some) == (
        "upbeat to bar 1, bar 1 beat 2⅓, bar 2 beats 1, 1 (grace note) and 3"
    )
    assert words.places([*notes[:12], *notes[20:]]) == "bars 1 to 3 and 6"


def test_one_is_not_told_as_many():
    heard = heard_of([0.6, 100.0, -1, 1], fingers=[1, 1, 1, 0])
    assert "1 another note." in words.counted(heard)[0]
    assert "Open D string: +1 cent; that is how it is tuned." in words.distances(heard)
    assert told(heard.notes[2]) == "−1 cent"
    assert "2 other notes." in words.counted(heard_of([100.0, 100, 0]))[0]


def test_an_octave_is_told_as_one():
    low, high, other = heard_of([-1203.0, 1200, 1100]).notes
    assert told(low) == "another note, E3, 1 octave below"
    assert told(high) == "another note, E5, 1 octave above"
    assert told(other) == "another note, E♭5"


def test_where_only_the_track_is_heard_the_player_is_told_where_to_look():
    heard = heard_of([0.0, 0])
    silent = tuple(replace(each, verdict=model.NOT_HEARD, cents=None) for each in heard.notes)
    assert words.ONLY_TRACK in words.report(replace(heard, notes=silent))
    assert words.ONLY_TRACK not in words.report(heard)


def test_the_question_for_the_ear_names_the_check_track_only_where_there_is_one():
    heard = heard_of([30.0])
    assert "hear bar 1 on the check track" in words.question([heard])
    assert "play bar 1 slowly" in words.question([replace(heard, has_check=False)])
    assert words.question([heard_of([9.0])]) is None


def test_takes_judged_otherwise_or_not_at_all_are_no_progress(tmp_path):
    one = Figures("a", "then", "t", "equal", 4, 4, 2, 1, 1)
    for figures in (one, replace(one, take="b", against="just"), replace(one, take="c", judged=0)):
        found = keep(tmp_path, figures)
    assert found == [one]
    assert len(keep(tmp_path, replace(one, take="d"))) == 2


@pytest.mark.parametrize(
    ("leak_db", "does"),
    [
        (-22.0, "that does not disturb"),
        (-8.0, "some notes may be pulled; try headphones"),
        (0.0, "taken for the track's own; play it softer, or use headphones"),
    ],
)
def test_a_track_that_leaks_loudly_is_told_by_what_it_does(leak_db, does):
    lines = words.report(replace(heard_of([0.0] * 4), leak_db=leak_db))
    assert does in " ".join(lines)
