"""The string drawn to scale: the places that `explain` tells, where they belong."""

from __future__ import annotations

import pytest
from playing import drill_of
from sheet_svg import Drawing, Text, read_drawing
from sheets import OLD_FINGER, scores_of, text_of, write_sheet

from playalong.drill.load import load
from playalong.score.explanation import explain
from playalong.score.writing import write
from playalong.sheet.string_picture import board_rows


def drawn(folder) -> Drawing:
    return read_drawing((folder / "fingerboard.svg").read_text(encoding="utf-8"))


def test_the_fingerboard_shows_the_places_that_explain_tells(tmp_path):
    drill = load(OLD_FINGER)
    scores = scores_of(drill, 1)
    write_sheet(drill, tmp_path, scores)
    bars = explain(scores[0])["bars"]
    wanted = {f"{note['place_mm']:.1f}" for bar in bars for note in bar["notes"]}
    assert {text.words for text in drawn(tmp_path).texts if text.kind == "place"} == wanted
    assert wanted <= set(text_of(tmp_path / "sheet.pdf").split())


def test_the_fingerboard_is_drawn_to_scale(tmp_path):
    """Fingers lie on a straight line over their millimetres, to a hundredth of a mm of paper."""
    drill = load(OLD_FINGER)
    write_sheet(drill, tmp_path, scores_of(drill, 1))
    drawing = drawn(tmp_path)
    places = sorted(
        (float(text.words), (text.box[0] + text.box[2]) / 2)
        for text in drawing.texts
        if text.kind == "finger"
        for text in [number_below(drawing, text)]
    )
    (low, first), *_, (high, last) = places
    scale = (last - first) / (high - low)
    for mm, x in places:
        assert x == pytest.approx(first + (mm - low) * scale, abs=0.3)  # figures differ in width
    nut = next(s for s in drawing.strokes if s.kind == "nut")
    assert first - low * scale == pytest.approx(nut.points[0][0], abs=0.3)


def number_below(drawing: Drawing, finger: Text) -> Text:
    middle = (finger.box[0] + finger.box[2]) / 2
    below = [t for t in drawing.texts if t.kind == "place" and t.box[1] > finger.box[3]]
    near = [t for t in below if t.box[0] < middle < t.box[2]]
    return min(near, key=lambda text: text.box[1])


def test_the_fingerboard_has_the_lowest_string_on_top_and_its_positions_climb(tmp_path):
    """As they follow each other in practice and in pitch."""
    write_sheet(drill_of("A: p3: 1 2 G: p1: 1 2 D: p1: 1 2 p3: 1 2"), tmp_path)
    labels = sorted((t.box[1], t.words) for t in drawn(tmp_path).texts if t.kind == "board-label")
    strings = [words for _, words in labels if len(words) == 1]
    positions = [words for _, words in labels if len(words) > 1]
    assert strings == ["G", "D", "D", "A"]
    assert positions == ["1st position", "1st position", "3rd position", "3rd position"]


def test_where_the_hand_is_not_modelled_each_starting_position_has_a_row():
    more = 'strings = ["A"]\nkeys = ["C major"]\nclimb = 2'
    rows = board_rows(write(drill_of("B3*4 C4*4 | D4*8", more, instrument="cello")))
    assert [row.label for row in rows] == ["bars 1–2", "bars 3–4"]


def test_fingers_that_share_a_place_share_its_disc():
    drill = drill_of("p1: B3=1*4 C4=1*2 C4=2*2", 'strings = ["A"]', instrument="cello")
    [row] = board_rows(write(drill))
    assert [place.fingers for place in row.places] == [(1,), (1, 2)]


def test_the_picture_has_five_millimetres_of_paper_around_it(tmp_path):
    write_sheet(drill_of("G: p1: 1 2 D: p1: 1 2 p3: 1 2 A: p3: 1 2"), tmp_path)
    drawing = drawn(tmp_path)
    points = [point for stroke in drawing.strokes for point in stroke.points]
    points += [(x, y) for text in drawing.texts for x, y in (text.box[:2], text.box[2:])]
    left, top = (min(point[n] for point in points) for n in (0, 1))
    right, bottom = (max(point[n] for point in points) for n in (0, 1))
    assert (left, top) == pytest.approx((5, 5), abs=1.5)  # the room of letters and of a last row
    assert drawing.width == 180 + 10
    assert drawing.height - bottom == pytest.approx(5, abs=1.5)
    assert right <= drawing.width - 5
