"""The MusicXML of a bar: repeats, tempo, and that it says the same each time."""

from __future__ import annotations

from xml.etree.ElementTree import fromstring

import pytest
from music21 import converter
from written_music import main_notes, music, written_score

from playalong.engraving.musicxml import musicxml
from playalong.score.explanation import explain


def test_the_passes_stand_as_repeats():
    root = music("1*4 p3: 1*4", "passes = 3\nclimb = 2")
    repeats = [(each.get("direction"), each.get("times")) for each in root.iter("repeat")]
    assert repeats == [("forward", None), ("backward", "3")] * 2


def test_title_key_string_and_author_stand_as_credits_for_notation_programs():
    for author, more in ((None, ""), ("A. Teacher", 'author = "A. Teacher"')):
        root = fromstring(musicxml(written_score("1*8", more)))
        credits = {each[0].text: each[1].text for each in root.iter("credit")}
        assert credits.pop("composer", None) == author
        assert root.findtext("identification/creator[@type='composer']") == author
        assert credits == {
            "title": root.findtext("work/work-title"),
            "subtitle": root.findtext("movement-title"),
        }


def test_under_the_note_that_a_shift_lands_on_stand_its_kind_and_how_far_the_hand_goes():
    """Read by music21; the numbers are those of `explain`, and the way back stands at the end."""
    written = written_score("p1: 1*4 p3: 1*4", "passes = 2")
    told = explain(written.score)
    [shift], [back] = told["bars"][0]["shifts"], told["turns"]
    part = converter.parseData(musicxml(written).decode(), format="musicxml").parts[0]
    words = {
        each.content: (each.offset, each.placement)
        for each in part.recurse().getElementsByClass("TextExpression")
    }
    assert words.pop(f"{shift['kind']}, {shift['hand_travel_mm']:.0f} mm") == (2.0, "below")
    assert words.pop(f"back: {back['kind']}, {back['hand_travel_mm']:.0f} mm") == (4.0, "below")
    assert {where for _, where in words.values()} == {"above"}


def test_one_pass_has_no_repeat_and_starting_positions_stand_apart_by_a_double_bar_line():
    root = music("1*8", "passes = 1\nclimb = 3")
    assert list(root.iter("repeat")) == []
    styles = [each.text for each in root.iter("bar-style")]
    assert styles == ["light-light", "light-light", "light-heavy"]


@pytest.mark.parametrize(
    ("meter", "bar", "beat", "dotted"),
    [
        ("4/4", "1*8", "quarter", False),
        ("2/2", "1*8", "half", False),
        ("3/8", "1*3", "eighth", False),
        ("3/16", "1*3/2", "16th", False),
        ("6/8", "1*6", "quarter", True),
        ("12/8", "1*12", "quarter", True),
        ("6/16", "1*3", "eighth", True),
    ],
)
def test_the_tempo_stands_beside_the_note_of_one_beat(meter, bar, beat, dotted):
    root = music(bar, f'meter = "{meter}"')
    assert root.findtext(".//beat-unit") == beat
    assert (root.find(".//beat-unit-dot") is not None) == dotted


def test_the_same_score_gives_the_same_bytes():
    bar, more = "p1: 1 2 3 1 p3: 1 2 p1: 2 1", "climb = 4\npasses = 2"
    assert musicxml(written_score(bar, more)) == musicxml(written_score(bar, more))


def test_tuplets_of_many_numbers_end_with_their_bar_in_divisions_that_readers_hold():
    """MusicXML 4.0 advises 16,383 divisions of a quarter at most (positive-divisions)."""
    counts = (7, 9, 11, 13)
    bar = " ".join(f"1*1/{count}" for count in counts for _ in range(count))
    root = music(bar, 'note = "quarter"\npasses = 1')
    divisions = int(root.findtext(".//divisions"))
    assert divisions < 16_384
    durations = [int(note.findtext("duration")) for note in main_notes(root)]
    assert sum(durations) == 4 * divisions
    assert all(
        abs(each - divisions / n) < 1
        for each, n in zip(durations[:16], [7] * 7 + [9] * 9, strict=True)
    )


def test_a_double_bar_line_stands_where_it_is_written():
    root = music("1*8 | 2*8 || 3*8 | 4*8", "passes = 1")
    styles = {
        measure.get("number"): measure.findtext("barline/bar-style")
        for measure in root.iter("measure")
    }
    assert styles == {"1": None, "2": "light-light", "3": None, "4": "light-heavy"}
