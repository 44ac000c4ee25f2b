"""Pictures for the screen: their numbers, the strings in order, the sign of the beat."""

from __future__ import annotations

from playing import drill_of
from sheet_svg import read_drawing
from sheets import scores_of

from playalong.sheet.render import render_sheet


def test_the_pictures_of_several_pages_are_numbered_from_one():
    bar = "p1: 1 2 3 1 p3: 1 2 p1: 2 1"
    drill = drill_of(f"{bar} | {bar}", "climb = [" + "1, 2, 3, 4, " * 6 + "]")
    files, contents = render_sheet(drill, scores_of(drill), formats=("svg",))
    assert files.page_count > 1
    assert files.svg == tuple(f"sheet-{n}.svg" for n in range(1, files.page_count + 1))
    for number, name in enumerate(files.svg, 1):
        words = [text.words for text in read_drawing(contents[name].decode()).texts]
        assert f"{number} / {files.page_count}" in words


def test_the_fingerboard_has_the_lowest_string_on_top_and_its_positions_climb():
    """As they follow each other in practice and in pitch."""
    drill = drill_of("A: p3: 1 2 G: p1: 1 2 D: p1: 1 2 p3: 1 2")
    _, contents = render_sheet(drill, scores_of(drill), formats=("svg",))
    drawing = read_drawing(contents["fingerboard.svg"].decode())
    labels = sorted((t.box[1], t.words) for t in drawing.texts if t.kind == "board-label")
    strings = [words for _, words in labels if len(words) == 1]
    positions = [words for _, words in labels if len(words) > 1]
    assert strings == ["G", "D", "D", "A"]
    assert positions == ["1st position", "1st position", "3rd position", "3rd position"]


def test_each_beat_has_a_sign_of_its_own_and_a_dotted_one_is_the_same_with_a_dot():
    def sign(meter: str, bar: str) -> tuple[tuple[float, float], ...]:
        drill = drill_of(bar, f'meter = "{meter}"')
        _, contents = render_sheet(drill, scores_of(drill), formats=("svg",))
        strokes = read_drawing(contents["sheet.svg"].decode()).strokes
        return next(stroke.points for stroke in strokes if stroke.kind == "beat")

    plain = [
        sign(*row) for row in (("2/2", "1*8"), ("4/4", "1*8"), ("3/8", "1*3"), ("3/16", "1*3/2"))
    ]
    assert len(set(plain)) == 4
    assert sign("6/8", "1*6") == plain[1]
    assert sign("6/16", "1*3") == plain[2]
