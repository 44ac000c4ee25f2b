"""What stands on the staff: bars, positions, ghost notes, and what leads across repeats."""

from __future__ import annotations

from collections import defaultdict
from fractions import Fraction

from hypothesis import given
from playing import drill_of
from strategies import scores
from written_music import main_notes, music, written_score

from playalong.engraving.written_score import NoteOrRest, write_down
from playalong.instrument.position import Position
from playalong.score.writing import write


@given(scores())
def test_every_note_stands_in_its_bar_and_every_bar_is_full(score):
    written = write_down(score)
    meter, upbeat = score.drill.meter, score.drill.upbeat_length
    for bar, after in zip(written.bars, [*written.bars[1:], None], strict=True):
        begins = meter.bar - upbeat if bar.is_upbeat else 0
        joins = upbeat and not bar.is_upbeat and (after is None or after.is_upbeat)
        ends = [each.start + each.value.length for each in bar.notes_and_rests]
        assert [each.start for each in bar.notes_and_rests] == [begins, *ends[:-1]]
        assert ends[-1] == (meter.bar - upbeat if joins else meter.bar)
    heads = [
        (
            (bar.stand - 1) * score.drill.bars[-1].number + 1 if bar.is_upbeat else bar.number,
            bar.stand,
            each.start / meter.beat - (meter.beats if bar.is_upbeat else 0),
            each.note,
        )
        for bar in written.bars
        for each in bar.notes_and_rests
        if each.note and not each.piece
    ]
    assert heads == [(note.bar, note.stand, note.beat, note) for note in score.notes]
    pieces: dict[int, list[NoteOrRest]] = defaultdict(list)
    for bar in written.bars:
        for each in bar.notes_and_rests:
            if each.note:
                pieces[each.number].append(each)
    for number, note in enumerate(score.notes):
        here = pieces[number]
        assert [each.piece for each in here] == list(range(len(here)))
        assert [each.tied_on for each in here] == [True] * (len(here) - 1) + [False]
        assert sum(each.value.length for each in here) == note.length


def test_positions_are_told_where_the_hand_takes_a_new_one():
    settings = 'strings = ["D"]\nkeys = ["C major"]'
    bar = "p1: 1 2 p3: 1 2 0 1 p0: 2 2"
    assert written_score(bar, settings).new_positions == {
        0: (Position(1), ""),
        2: (Position(3), ""),
        6: (Position(0), ""),
    }
    words = [each.text for each in music(bar, settings).iter("words") if "position" in each.text]
    assert words == ["1st position", "3rd position", "half position"]


def test_ghost_notes_are_cue_notes_in_parentheses_before_their_landing():
    root = music("p1: 1*2 p3: 3*6", 'strings = ["D"]\nkeys = ["C major"]')
    [ghost] = [note for note in root.iter("note") if note.find("cue") is not None]
    assert ghost.find("notehead").get("parentheses") == "yes"
    assert (ghost.findtext("pitch/step"), ghost.findtext("pitch/octave")) == ("G", "4")
    assert ghost.findtext(".//fingering") == "1"
    quarters = Fraction(ghost.findtext("duration")) / int(root.findtext(".//divisions"))
    assert (ghost.findtext("type"), quarters) == ("16th", Fraction(1, 4))
    assert ghost.find(".//slide").get("type") == "stop"


def test_a_ghost_note_of_a_tied_note_begins_no_earlier_than_its_last_bar():
    root = music("p1: 1*8 | _*1 p3: 3*7", 'strings = ["D"]\nkeys = ["C major"]\npasses = 1')
    first, second = root.iter("measure")
    assert first.find(".//cue") is None
    [ghost] = [note for note in second.iter("note") if note.find("cue") is not None]
    assert Fraction(ghost.findtext("duration")) / int(root.findtext(".//divisions")) == 0.5


def test_a_note_tied_across_a_bar_line_has_a_tie_on_both_sides():
    notes = main_notes(music("1*6 2*2 | _*2 3*6", "passes = 1"))
    told = [[tie.get("type") for tie in note.findall("tie")] for note in notes]
    assert told == [[], ["start"], ["stop"], []]
    tied = [[tie.get("type") for tie in note.iter("tied")] for note in notes]
    assert tied == told


def test_a_tie_within_a_bar_is_written_as_it_stands():
    types = [note.findtext("type") for note in main_notes(music("1 2 _ 3 4*4", "passes = 1"))]
    assert types == ["eighth"] * 4 + ["half"]


def test_grace_notes_are_small_notes_without_a_time_slurred_to_their_note():
    notes = main_notes(music("1*4 g:2 g:3 2*4", "passes = 1"))
    graces = notes[1:3]
    assert [note.find("grace").get("slash") for note in graces] == ["yes", "yes"]
    assert [note.find("duration") for note in graces] == [None, None]
    assert [note.findtext("type") for note in graces] == ["16th", "16th"]
    assert [[beam.text for beam in note.iter("beam")] for note in graces] == [
        ["begin", "begin"],
        ["end", "end"],
    ]
    slurs = [[slur.get("type") for slur in note.iter("slur")] for note in notes]
    assert slurs == [[], ["start"], [], ["stop"]]
    assert [note.find(".//up-bow") is not None for note in notes] == [False, False, False, True]


def test_a_grace_note_within_a_triplet_leaves_its_bracket_whole():
    notes = main_notes(music("1*2/3 g:4 2*2/3 3*2/3 4*6", "passes = 1"))
    brackets = [[each.get("type") for each in note.iter("tuplet")] for note in notes]
    assert brackets == [["start"], [], [], ["stop"], []]
    assert notes[1].findtext("type") == "eighth"


def test_an_upbeat_is_an_implicit_bar_and_the_last_bar_is_short():
    more = 'meter = "3/4"\nnote = "quarter"\nupbeat = "1"\nclimb = 2'
    root = music("3 | 1 2 3 | 1 2", more)
    bars = [(bar.get("number"), bar.get("implicit")) for bar in root.iter("measure")]
    one_pass = [("1", None), ("2", None)]
    assert bars == [("0", "yes"), *one_pass, ("X4", "yes"), ("3", None), ("4", None)]
    divisions = int(root.findtext(".//divisions"))
    lengths = [
        sum(int(note.findtext("duration")) for note in bar.iter("note") if not note.find("cue"))
        for bar in root.iter("measure")
    ]
    assert [length // divisions for length in lengths] == [1, 3, 2] * 2


def test_click_between_passes_fills_the_last_bar_and_leaves_room_for_the_upbeat():
    more = 'meter = "3/4"\nnote = "quarter"\nupbeat = "1"\ngap = 1'
    written = written_score("3 | 1 2 3 | 1 2", more)
    assert [bar.length for bar in written.bars] == [1, 3, 3, 2]


def test_a_bar_of_click_between_passes_is_a_bar_of_rest_without_a_number():
    root = music("1*8", "gap = 1\nclimb = 2")
    bars = [(bar.get("number"), bar.get("implicit")) for bar in root.iter("measure")]
    assert bars == [("1", None), ("X2", "yes"), ("2", None), ("X4", "yes")]


def test_what_leads_across_a_repeat_can_be_left_out_and_only_that():
    for passes, kept in ((2, {1, 3}), (1, {1, 2, 3})):
        drill = drill_of("p1: 1*4 p3: 1*4", f'climb = 2\nstrings = ["D"]\npasses = {passes}')
        score = write(drill)
        assert write_down(score).slides == {1, 2, 3}
        assert write_down(score, slides_over_repeats=False).slides == kept
