"""Thumb and harmonics on the staff, and as MusicXML 4.0 has them."""

from __future__ import annotations

import pytest
from music21 import converter
from playing import in_quarters
from sheet_readers import by_music21

from playalong.engraving.annotations import annotated
from playalong.engraving.engrave import STAFF_MM, engrave
from playalong.engraving.musicxml import musicxml, score_partwise
from playalong.engraving.written_score import write_down
from playalong.sheet.string_picture import board_rows

THUMB = ("cello", "D major", "D: t7: T 1 2 3 A: T 1")
HARMONICS = ("cello", "D major", "A: p1: 1 p4: 1o p7: 1o D: p2n: 1o")


def test_the_thumb_is_a_thumb_position_and_no_fingering() -> None:
    root = score_partwise(write_down(in_quarters(*THUMB)))
    technical = [
        [each.tag for each in note.iter("technical") for each in each if each.tag != "string"]
        for note in root.iter("note")
    ]
    assert [("thumb-position" in each, "fingering" in each) for each in technical] == [
        *((True, False), (False, True), (False, True), (False, True), (True, False), (False, True)),
    ]


def test_a_harmonic_is_natural_and_written_as_it_sounds() -> None:
    root = score_partwise(write_down(in_quarters(*HARMONICS)))
    found = [note.find("notations/technical/harmonic") for note in root.iter("note")]
    assert [harmonic is not None for harmonic in found] == [False, True, True, True]
    for harmonic in found[1:]:
        assert harmonic is not None
        assert [each.tag for each in harmonic] == ["natural", "sounding-pitch"]


def test_music21_reads_fingers_thumb_and_harmonics() -> None:
    read = by_music21(musicxml(write_down(in_quarters(*THUMB))))
    assert [(head.pitch, head.finger) for head in read.notes] == [
        *(("D4", -1), ("E4", 1), ("F#4", 2), ("G4", 3), ("A4", -1), ("B4", 1)),
    ]
    read = by_music21(musicxml(write_down(in_quarters(*HARMONICS))))
    assert [(head.pitch, head.finger) for head in read.notes] == [
        *(("B3", 1), ("E5", 1), ("A4", 1), ("F#5", 1)),
    ]
    part = converter.parseData(musicxml(write_down(in_quarters(*HARMONICS))).decode())
    signs = [[mark.classes[0] for mark in note.articulations] for note in part.recurse().notes]
    assert ["StringHarmonic" in each for each in signs] == [False, True, True, True]


@pytest.mark.parametrize(("score", "kinds"), [(THUMB, 2), (HARMONICS, 3)])
def test_the_sheet_draws_their_signs(score: tuple[str, str, str], kinds: int) -> None:
    written = write_down(in_quarters(*score))
    (system,) = engrave(written, 190.0, staff_mm=STAFF_MM)
    marks = annotated(written, system, 190.0)
    numbers = [mark for mark in marks if mark.kind == "fingering" and hasattr(mark, "text")]
    rings = [mark for mark in marks if mark.kind == "harmonic"]
    thumbs = [mark for mark in marks if mark.kind == "fingering" and not hasattr(mark, "text")]
    assert len(rings) + len(thumbs) / 2 == kinds
    assert len(numbers) + len(thumbs) / 2 == len(written.notes)


def test_the_picture_of_the_string_shows_the_node_that_is_touched() -> None:
    """A third of 690 mm is 230.0 and a fifth 138.0 (acoustics); stopped E4 stands at 229.5."""
    places = [place for row in board_rows(in_quarters(*HARMONICS)) for place in row.places]
    nodes = sorted((place.mm, place.pitch, place.fingers) for place in places if place.is_node)
    assert nodes == [(138.0, "F#5", (1,)), (230.0, "E5", (1,)), (345.0, "A4", (1,))]
    assert [place.pitch for place in places if not place.is_node] == ["B3"]
