"""What many notes have in common, and when a tendency may be told."""

from __future__ import annotations

from dataclasses import replace

import pytest
from takes_by_hand import heard_of

from playalong.take import words
from playalong.take.against import judged_against, nearer
from playalong.take.marks import name
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
    found = landings(heard.shifts)
    assert [len(each) for each in (found.true, found.past, found.short)] == [1, 1, 1]
    assert found.past_cents == 20.0


def test_judging_against_pure_fifths_moves_the_targets_by_what_the_tables_say():
    """E is a pure fifth above A: 702 cents, so two more than equal (common practice)."""
    heard = heard_of([2.0], pitches=["E4"])
    assert judged_against(heard, "pythagorean").notes[0].cents == pytest.approx(0.04, abs=0.02)


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
    assert name(heard).startswith("Bar 1 beat 1, ")
    assert name(again).startswith("Bar 1 beat 1, pass 2, ")
    assert name(upbeat).startswith("Upbeat to bar 1, ")
