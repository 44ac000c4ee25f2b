"""How the drill is written down: beams, ties, rests, accidentals, clefs, bows, strings.

The rules are common practice; no table of them is cited.
"""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path
from xml.etree.ElementTree import Element, fromstring

import pytest
from playing import drill_of

from playalong.drill.load import load_drill
from playalong.engraving.musicxml import musicxml
from playalong.engraving.words import (
    BOWS_TURN,
    SLIDES_OVER_REPEATS,
    position_words,
    reading_words,
    shift_words,
    short_position_words,
)
from playalong.engraving.written import write_down
from playalong.instrument.shift import Kind
from playalong.score.writing import build_score

DEMO = Path(__file__).parents[2] / "demo"


def written(bar: str, more: str = "", *, instrument: str = "violin") -> Element:
    drill = drill_of(bar, more, instrument=instrument)
    score = build_score(drill, drill.keys[0], (drill.strings or (None,))[0])
    return fromstring(musicxml(write_down(score)))


def main_notes(root: Element) -> list[Element]:
    return [note for note in root.iter("note") if note.findtext("voice") == "1"]


def beam_words(root: Element) -> list[str | None]:
    return [note.findtext("beam") for note in main_notes(root)]


def signs(root: Element) -> list[str]:
    """Types with dots, `r` before rests, `~` before what is tied on."""
    return [
        "r" * (note.find("rest") is not None)
        + "~" * any(tie.get("type") == "stop" for tie in note.findall("tie"))
        + note.findtext("type")
        + "." * len(note.findall("dot"))
        for note in main_notes(root)
    ]


FOUR = ["begin", "continue", "continue", "end"]


@pytest.mark.parametrize(
    ("meter", "bar", "beams"),
    [
        ("4/4", "1 1 1 1 1 1 1 1", FOUR * 2),
        ("3/4", "1 1 1 1 1 1", ["begin", *["continue"] * 4, "end"]),
        ("6/8", "1 1 1 1 1 1", ["begin", "continue", "end"] * 2),
        ("5/8", "1 1 1 1 1", ["begin", "end", "begin", "continue", "end"]),
        ("5/4", "1 1 1 1 1 1 1 1 1 1", ["begin", "end"] * 5),
        ("4/4", "1 r 1 1 1*2 1 1", [None, None, "begin", "end", None, "begin", "end"]),
    ],
)
def test_beams_follow_the_meter_and_break_at_rests(meter, bar, beams):
    assert beam_words(written(bar, f'meter = "{meter}"')) == beams


def test_a_dotted_eighth_has_its_sixteenth_hooked_back():
    root = written("1*3/2 2*1/2 3*6")
    second = main_notes(root)[1].findall("beam")
    assert [beam.text for beam in second] == ["end", "backward hook"]


@pytest.mark.parametrize(
    ("meter", "bar", "shown"),
    [
        ("4/4", "1*8", ["whole"]),
        ("4/4", "1*5 2*3", ["half", "~eighth", "quarter."]),
        ("4/4", "1 2*5 3*2", ["eighth", "eighth", "~half", "quarter"]),
        ("6/8", "1 2*2 1*3", ["eighth", "quarter", "quarter."]),
        ("6/8", "1*2 2*2 1*2", ["quarter", "eighth", "~eighth", "quarter"]),
        ("6/8", "1*6", ["half."]),
        ("4/4", "1 r*5 1*2", ["eighth", "reighth", "rquarter", "rquarter", "quarter"]),
        ("6/8", "1 r*2 r*3", ["eighth", "reighth", "reighth", "rquarter."]),
        ("4/4", "1*3/2 2*1/2 1*6", ["eighth.", "16th", "half."]),
    ],
)
def test_notes_show_the_beat_with_ties_and_rests_fill_it(meter, bar, shown):
    assert signs(written(bar, f'meter = "{meter}"')) == shown


def test_thirds_of_a_beat_are_written_three_in_the_time_of_two():
    root = written("1*2/3 2*2/3 3*2/3 1*6")
    first, second, third, _ = main_notes(root)
    for note in (first, second, third):
        assert note.findtext("type") == "eighth"
        assert note.findtext("time-modification/actual-notes") == "3"
        assert note.findtext("time-modification/normal-notes") == "2"
    assert first.find(".//tuplet").get("type") == "start"
    assert third.find(".//tuplet").get("type") == "stop"


def test_an_accidental_holds_for_its_bar_and_is_taken_back_within_it():
    root = written("1 1# 1# 1 | 1 1n 1 1", 'note = "quarter"\nkeys = ["A major"]\nstrings = ["D"]')
    shown = [note.findtext("accidental") for note in main_notes(root)]
    assert shown == [None, "sharp", None, "natural", None, None, None, None]
    root = written("2 2n 2 2#", 'note = "quarter"\nkeys = ["A major"]\nstrings = ["D"]')
    shown = [note.findtext("accidental") for note in main_notes(root)]
    assert shown == [None, "natural", "sharp", "double-sharp"]


def test_the_raised_seventh_is_written_since_the_signature_lacks_it():
    root = written("3*8", 'keys = ["D harmonic minor"]\nstrings = ["G"]\nclimb = 3')
    shown = [note.findtext("accidental") for note in main_notes(root)]
    names = [note.findtext("pitch/step") for note in main_notes(root)]
    assert root.findtext(".//fifths") == "-1"
    assert dict(zip(names, shown, strict=True)) == {"C": "sharp", "D": None, "E": None}


@pytest.mark.parametrize(
    ("instrument", "bar", "clef"),
    [
        ("violin", "1*8", ("G", "2", None)),
        ("viola", "1*8", ("C", "3", None)),
        ("viola", "p12: 1*8", ("G", "2", None)),
        ("cello", "E4*8", ("F", "4", None)),
        ("cello", "E5*8", ("C", "4", None)),
        ("cello", "C6*8", ("G", "2", None)),
        ("bass", "C4*8", ("F", "4", None)),
        ("tenor", "E4*8", ("G", "2", "-1")),
        ("guitar", "E4*8", ("G", "2", "-1")),
    ],
)
def test_each_instrument_has_its_clef_and_a_higher_one_where_ledger_lines_would_pile_up(
    instrument, bar, clef
):
    top = {"violin": "E", "viola": "A", "cello": "A", "bass": "G"}.get(instrument)
    root = written(bar, f'strings = ["{top}"]' if top else "", instrument=instrument)
    found = root.find(".//clef")
    assert tuple(map(found.findtext, ("sign", "line", "clef-octave-change"))) == clef
    assert (root.find(".//transpose") is not None) == (instrument == "bass")


@pytest.mark.parametrize(
    ("bar", "more", "count"),
    [
        ("( 1 2 ) ( 3 4 ) ( 4 3 ) 2 1", "climb = 2", 10),
        ("1 2 3 4 4 3 2 1", 'bow = "bar"\nclimb = 3\npasses = 2', 3),
    ],
)
def test_bows_go_down_and_up_in_turn_through_all_that_is_written(bar, more, count):
    marks = [
        "down" if note.find(".//down-bow") is not None else "up"
        for note in main_notes(written(bar, more))
        if note.find(".//down-bow") is not None or note.find(".//up-bow") is not None
    ]
    assert marks == [("down", "up")[number % 2] for number in range(count)]


@pytest.mark.parametrize(
    ("bar", "more", "told"),
    [
        ("1 2 3 4 4 3 2 1", 'bow = "bar"\npasses = 2', True),
        ("1 2 3 4 4 3 2 1", 'bow = "bar"\npasses = 1', False),
        ("1 2 3 4 4 3 2 1", 'bow = "half bar"\npasses = 2', False),
    ],
)
def test_an_odd_number_of_bows_in_a_pass_is_told(bar, more, told):
    drill = drill_of(bar, more)
    paper = write_down(build_score(drill, drill.keys[0], (drill.strings or (None,))[0]))
    assert (BOWS_TURN in reading_words(paper)) == told


@pytest.mark.parametrize(
    ("bar", "told"), [("p1: 1*4 p3: 1*4", True), ("p1: 1*2 p3: 1*2 p1: 1*4", False)]
)
def test_a_slide_over_a_repeat_sign_is_told_to_stand_in_words(bar, told):
    drill = drill_of(bar, 'passes = 2\nstrings = ["D"]\nkeys = ["C major"]')
    paper = write_down(build_score(drill, drill.keys[0], "D"))
    assert (SLIDES_OVER_REPEATS in reading_words(paper)) == told


def test_an_exchange_is_told_without_a_ghost_note():
    drill = load_drill(DEMO / "03-exchange.toml")
    notes = build_score(drill, drill.keys[0], drill.strings[0]).notes
    exchanges = [
        note.arrival for note in notes if note.arrival and note.arrival.kind is Kind.EXCHANGE
    ]
    assert exchanges
    assert not [words for words in map(shift_words, exchanges) if "ghost" in " ".join(words)]


def test_separate_bows_are_marked_until_they_are_clear_and_voices_have_none():
    assert len(list(written("1 2 3 4 4 3 2 1").iter("down-bow"))) == 1
    voice = written("( C4 D4 ) E4*6", instrument="alto")
    assert list(voice.iter("down-bow")) == []
    assert len(list(voice.iter("slur"))) == 2


def test_a_string_number_stands_where_the_string_is_new():
    root = written("G: 1 2 D: 1 2 1 G: 1 2 3")
    numbers = [note.findtext(".//string") for note in main_notes(root)]
    assert numbers == ["4", None, "3", None, None, "4", None, None]


def test_positions_are_told_where_the_hand_takes_a_new_one():
    root = written("p1: 1 2 p3: 1 2 0 1 p0: 2 2", 'strings = ["D"]\nkeys = ["C major"]')
    words = [each.text for each in root.iter("words")]
    assert words == ["1st position", "3rd position", "half position"]


def test_ghost_notes_are_cue_notes_in_parentheses_before_their_landing():
    root = written("p1: 1*2 p3: 3*6", 'strings = ["D"]\nkeys = ["C major"]')
    [ghost] = [note for note in root.iter("note") if note.find("cue") is not None]
    assert ghost.find("notehead").get("parentheses") == "yes"
    assert (ghost.findtext("pitch/step"), ghost.findtext("pitch/octave")) == ("G", "4")
    assert ghost.findtext(".//fingering") == "1"
    quarters = Fraction(ghost.findtext("duration")) / int(root.findtext(".//divisions"))
    assert (ghost.findtext("type"), quarters) == ("16th", Fraction(1, 4))
    assert ghost.find(".//slide").get("type") == "stop"


def test_a_bar_of_click_between_passes_is_a_bar_of_rest_without_a_number():
    root = written("1*8", "gap = 1\nclimb = 2")
    bars = [(bar.get("number"), bar.get("implicit")) for bar in root.iter("measure")]
    assert bars == [("1", None), ("X2", "yes"), ("2", None), ("X4", "yes")]


def bow_marks(root: Element) -> str:
    """`v` for a down bow, `^` for an up bow, `.` for a note without a mark."""
    return "".join(
        "v" if note.find(".//down-bow") is not None
        else "^" if note.find(".//up-bow") is not None
        else "."
        for note in main_notes(root)
    )  # fmt: skip


@pytest.mark.parametrize(
    ("bar", "more", "marks"),
    [
        ("1 2 3 4 4 3 2 1", "climb = 2", "v^......v^......"),
        ("1 2 3 4 4 3 2*2", "climb = 2", "v^.....^v....."),  # seven bows: the next one is an up bow
        ("1 2 3 4 4 3 2 1", 'bow = "beat"', "v.^.v.^."),
        ("1*2 ( 2 3 ) 4 ( 4 3 2 )", "", "v^.v^.."),
    ],
)
def test_of_separate_bows_the_first_two_of_a_place_are_marked_and_of_slurs_every_one(
    bar, more, marks
):
    assert bow_marks(written(bar, f"{more}\npasses = 1")) == marks


@pytest.mark.parametrize(
    ("position", "words"),
    [
        (0, "half position"), (1, "1st position"), (2, "2nd position"), (3, "3rd position"),
        (4, "4th position"), (10, "10th position"), (11, "11th position"), (12, "12th position"),
        (13, "13th position"), (14, "14th position"), (21, "21st position"),
    ],
)  # fmt: skip
def test_a_position_is_named_by_its_ordinal(position, words):
    assert position_words(position) == words
    assert short_position_words(position) == words.replace("position", "pos.")


def test_the_ordinals_stand_over_the_notes():
    root = written("p11: 1*2 p12: 1*2 p13: 1*2 p2: 1*2", 'strings = ["G"]')
    words = [each.text for each in root.iter("words")]
    assert words == ["11th position", "12th position", "13th position", "2nd position"]
