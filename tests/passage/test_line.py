"""A line is what one player plays; what it leaves out is told by bar."""

from __future__ import annotations

import pytest
from small_scores import attributes, line, note, numbered, score, slurred

from playalong.passage.choosing import choose_bars
from playalong.passage.line import Line, line_of
from playalong.passage.model import PassageError
from playalong.passage.reading import all_parts

TIE, TIED = '<tie type="start"/>', '<tie type="stop"/>'
TWO = note("E5", 16, "<voice>1</voice>") + "<backup><duration>16</duration></backup>"
TWO += note("C5", 16, "<voice>2</voice>")


def read(*contents: str, voice: str | None = None, first: str = "") -> Line:
    (part,) = all_parts(score(*numbered(*contents, first=first)).encode())
    return line_of(choose_bars(part, None), voice)


def played(found: Line) -> list[tuple[str, object, object]]:
    return [(note.pitch.name, note.start, note.length) for note in found.notes]


def test_a_tie_over_the_bar_line_is_one_note() -> None:
    found = read(line("A4", 8) + note("B4", 8, TIE), note("B4", 4, TIED) + line("C5 C5 C5"))
    assert played(found)[:3] == [("A4", 0, 2), ("B4", 2, 3), ("C5", 5, 1)]
    assert found.left_out == ()


def test_a_tie_of_which_only_the_beginning_is_printed_is_one_note() -> None:
    found = read(note("A4", 8) + note("B4", 4, TIE) + note("B4", 4))
    assert played(found) == [("A4", 0, 2), ("B4", 2, 2)]


def test_a_note_tied_from_before_the_passage_is_struck_and_told() -> None:
    found = read(note("A4", 16, TIED))
    assert played(found) == [("A4", 0, 4)]
    assert found.left_out == ("a note tied from the bar before is struck anew: bar 1",)


def test_slurs_make_bows() -> None:
    bar = slurred("A4", "start") + line("B4") + slurred("C5", "stop") + line("D5")
    assert [note.bow for note in read(bar).notes] == [1, 1, 1, 2]


def test_voices_one_after_the_other_are_one_line() -> None:
    bar = note("E5", 8, "<voice>1</voice>") + note("C5", 8, "<voice>2</voice>")
    assert played(read(bar)) == [("E5", 0, 2), ("C5", 2, 2)]


def test_voices_at_once_need_a_choice() -> None:
    with pytest.raises(PassageError, match=r"bar 1 has several voices at once \(1, 2\); say which"):
        read(TWO)
    assert played(read(TWO, voice="2")) == [("C5", 0, 4)]
    top = read(TWO, voice="top")
    assert played(top) == [("E5", 0, 4)]
    assert top.left_out == ("double stops, of which only the highest note is taken: bar 1",)


def test_double_stops_are_refused_unless_the_top_is_asked_for() -> None:
    chord = note("A4", 16) + note("F#5", 16).replace("<note>", "<note><chord/>")
    with pytest.raises(PassageError, match="bar 2 has double stops, and a drill has one note at"):
        read(line("A4", 16), chord)
    assert played(read(chord, voice="top")) == [("F#5", 0, 4)]


def test_the_top_takes_over_from_a_lower_note_that_still_sounds() -> None:
    lower = note("A4", 16, "<voice>1</voice>") + "<backup><duration>8</duration></backup>"
    assert played(read(lower + note("E5", 8, "<voice>2</voice>"), voice="top")) == [
        ("A4", 0, 2),
        ("E5", 2, 2),
    ]


def test_a_note_that_another_voice_strikes_again_ends_there() -> None:
    held = note("E5", 16, "<voice>1</voice>") + "<backup><duration>8</duration></backup>"
    assert played(read(held + note("E5", 8, "<voice>2</voice>"), voice="top")) == [
        ("E5", 0, 2),
        ("E5", 2, 2),
    ]


def grace(name: str) -> str:
    return note(name).replace("<note>", "<note><grace/>").replace("<duration>4</duration>", "")


def test_grace_notes_stand_before_their_note_and_in_its_bow() -> None:
    slide = slurred("B4", "start").replace("<note>", "<note><grace/>")
    slide = slide.replace("<duration>4</duration>", "")
    found = read(line("E4") + grace("C5") + slide + slurred("A4", "stop") + line("G4 F4"))
    assert played(found)[:4] == [("E4", 0, 1), ("C5", 1, 0), ("B4", 1, 0), ("A4", 1, 1)]
    assert [each.bow for each in found.notes] == [1, 2, 2, 2, 3, 4]
    assert found.left_out == ()


def test_a_grace_note_that_leads_to_no_note_of_its_bar_is_told() -> None:
    told = ("grace notes that lead to no note of their bar: bar 1",)
    four = line("A4 A4 A4 A4")
    assert read(line("A4 A4") + grace("B4") + note("r", 8), four).left_out == told
    assert read(four + grace("B4")).left_out == told
    assert read(four + grace("B4"), note("r") + line("A4 A4 A4")).left_out == told
    tied = note("C5", 16, notations='<tied type="start"/>') + grace("B4")
    found = read(tied, note("C5", 16, notations='<tied type="stop"/>'))
    assert (played(found), found.left_out) == ([("C5", 0, 8)], told)


def test_grace_notes_that_end_a_bar_lead_to_the_next_one() -> None:
    found = read(line("A4 A4 A4 A4") + grace("B4") + grace("D5"), line("C5", 16))
    assert played(found)[-3:] == [("B4", 4, 0), ("D5", 4, 0), ("C5", 4, 4)]
    assert [found.bar_of(each) for each in found.notes[-3:]] == ["2", "2", "2"]
    assert found.left_out == ()


def test_what_is_left_out_is_told_kind_by_kind_with_its_bars() -> None:
    trill = note("A4", 16, notations="<ornaments><trill-mark/></ornaments>")
    cue = note("A4").replace("<note>", "<note><cue/>")
    assert read(trill, trill + cue).left_out == ("trill mark: bars 1, 2", "cue notes: bar 2")


@pytest.mark.parametrize(
    ("content", "message"),
    [
        (note("A4").replace("pitch", "unpitched"), "bar 1 is for percussion"),
        (note("A4").replace(">0</alter", ">0.5</alter"), "bar 1 has quarter tones"),
        (note("r", 16), "bar 1: no note to play there"),
        (note("A4", 4).replace(">4</dur", ">4.0001</dur"), "a quarter has 960 parts"),
    ],
)
def test_what_no_drill_holds_is_refused_with_its_bar(content: str, message: str) -> None:
    with pytest.raises(PassageError, match=message):
        read(content)


def test_a_transposing_part_is_taken_as_it_sounds() -> None:
    moved = "<transpose><diatonic>-1</diatonic><chromatic>-2</chromatic></transpose></attributes>"
    found = read(line("C5", 16), first=attributes().replace("</attributes>", moved))
    assert played(found) == [("Bb4", 0, 4)]
