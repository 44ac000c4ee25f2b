"""The files of a sheet: what they hold, that they repeat, and what is refused."""

from __future__ import annotations

import re
import subprocess
import sys
from pathlib import Path
from xml.etree.ElementTree import fromstring

import pytest
from playing import drill_of
from sheet_svg import read_drawing

from playalong.drill.load import load_drill
from playalong.drill.stage import STAGES
from playalong.engraving.lengths import LengthError
from playalong.engraving.sizes import PaperError
from playalong.folder.files import WriteError
from playalong.guidance import CAUTIONS
from playalong.performance.ladder import rungs
from playalong.score.explanation import explain
from playalong.score.writing import build_score
from playalong.sheet.render import SheetError, render_sheet, write_sheet
from playalong.shipped import demo_folder

OLD_FINGER = demo_folder() / "04-old-finger-leads.toml"
NEW_KEYS = demo_folder() / "10-new-key-every-day.toml"
A4, LETTER = (595.276, 841.89), (612.0, 792.0)  # points; ISO 216, ANSI Y14.1
POINT_TOLERANCE = 0.01


def scores_of(drill, count=None):
    pairs = [(key, string) for key in drill.keys for string in drill.strings or (None,)]
    return [build_score(drill, *pair) for pair in pairs[:count]]


def made(source: Path, out: Path, count=None, **choices):
    drill = load_drill(source)
    return write_sheet(drill, scores_of(drill, count), out, **choices)


def told(*command: object) -> str:
    """What a tool of poppler says."""
    done = subprocess.run([str(word) for word in command], capture_output=True, text=True)
    assert done.returncode == 0, done.stderr
    return done.stdout


def text_of(pdf: Path, *, page: int | None = None) -> str:
    """All words in reading order, one blank between them."""
    only = ("-f", page, "-l", page) if page else ()
    return " ".join(told("pdftotext", *only, pdf, "-").split())


def test_a_reader_finds_title_key_string_ladder_cautions_and_stages(tmp_path):
    made(OLD_FINGER, tmp_path, 1)
    drill, text = load_drill(OLD_FINGER), text_of(tmp_path / "sheet.pdf")
    assert drill.title in text
    assert "Viola, D string (II), C major" in text
    assert "= " + " · ".join(map(str, rungs(drill.tempo))) in text
    for words in (*CAUTIONS, *(stage.words for stage in STAGES.values())):
        assert words in text


def test_a_flat_key_is_found_with_its_sign(tmp_path):
    drill = drill_of("1*8", 'keys = ["Bb major"]', title="Größer, höher – žluťoučký")
    write_sheet(drill, scores_of(drill), tmp_path)
    text = text_of(tmp_path / "sheet.pdf")
    assert "B♭ major" in text
    assert "Größer, höher – žluťoučký" in text


def test_shifts_positions_strings_and_twins_are_named(tmp_path):
    made(OLD_FINGER, tmp_path, 1)
    text = text_of(tmp_path / "sheet.pdf")
    data = explain(scores_of(load_drill(OLD_FINGER), 1)[0])
    for bar in data["bars"]:
        for shift in bar["shifts"]:
            assert shift["kind"] in text
            assert f"{shift['travel_mm']:.0f} mm" in text
    assert "3rd position" in text
    assert "II" in text
    octave = drill_of("1 2 3 4 4 3 2 1", 'climb = [1, 8]\nkeys = ["G major"]\nstrings = ["D"]')
    write_sheet(octave, scores_of(octave), tmp_path / "octave")
    assert "bar 2: as bar 1, an octave higher" in text_of(tmp_path / "octave" / "sheet.pdf")


def test_open_strings_that_stand_apart_from_the_key_are_told(tmp_path):
    """check: in just C major the open A is 21.5 cents above the sixth (a syntonic comma)."""
    drill = drill_of("1*8", 'keys = ["C major"]\ntuning = { temperament = "just" }')
    write_sheet(drill, scores_of(drill), tmp_path)
    text = text_of(tmp_path / "sheet.pdf")
    assert "the open A string stands 21.5 cents above the key’s A" in text


def test_the_passes_stand_as_repeats(tmp_path):
    drill = drill_of("1*4 p3: 1*4", "passes = 3\nclimb = 2")
    _, contents = render_sheet(drill, scores_of(drill), formats=("musicxml",))
    xml = contents["sheet.musicxml"].decode()
    assert re.findall(r'<repeat direction="(\w+)"', xml) == ["forward", "backward"] * 2
    assert xml.count('times="3"') == 2
    write_sheet(drill, scores_of(drill), tmp_path)
    assert text_of(tmp_path / "sheet.pdf").count("3×") == 3  # two repeats and what it means


def test_every_font_is_embedded(tmp_path):
    made(NEW_KEYS, tmp_path, 2)
    lines = told("pdffonts", tmp_path / "sheet.pdf").splitlines()[2:]
    assert lines
    for line in lines:
        embedded, subset, unicode = line.split()[-5:-2]
        assert (embedded, subset, unicode) == ("yes", "yes", "yes"), line


@pytest.mark.parametrize(("paper", "points"), [("A4", A4), ("Letter", LETTER)])
def test_several_keys_and_strings_are_one_document_a_page_each_in_the_order_of_practice(
    paper, points, tmp_path
):
    files = made(NEW_KEYS, tmp_path, paper=paper)
    info = told("pdfinfo", tmp_path / "sheet.pdf")
    assert int(re.search(r"Pages: +(\d+)", info)[1]) == files.page_count == 10
    size = re.search(r"Page size: +([\d.]+) x ([\d.]+)", info)
    assert (float(size[1]), float(size[2])) == pytest.approx(points, abs=POINT_TOLERANCE)
    drill = load_drill(NEW_KEYS)
    wanted = [(key, string) for key in drill.keys for string in drill.strings]
    for page, (key, string) in enumerate(wanted, 1):
        shown = key.name.replace("Bb", "B♭")
        text = text_of(tmp_path / "sheet.pdf", page=page)
        assert f"{string} string" in text
        assert shown in text
        assert f"{page} / 10" in text


def test_seventy_two_bars_break_into_systems_and_pages(tmp_path):
    bar = "p1: 1 2 3 1 p3: 1 2 p1: 2 1"
    drill = drill_of(f"{bar} | {bar}", "climb = [" + "1, 2, 3, 4, 5, 6, " * 6 + "]")
    files = write_sheet(drill, scores_of(drill), tmp_path)
    assert 3 <= files.page_count <= 8
    numbers = [
        int(text.words)
        for name in files.svg
        for text in read_drawing((tmp_path / name).read_text(encoding="utf-8")).texts
        if text.kind == "bar-number"
    ]
    assert numbers == sorted(set(numbers))
    assert 60 < numbers[-1] <= 71  # never a single bar on the last line


def test_the_fingerboard_shows_the_places_that_explain_tells(tmp_path):
    made(OLD_FINGER, tmp_path, 1)
    data = explain(scores_of(load_drill(OLD_FINGER), 1)[0])
    wanted = {f"{n['place_mm']:.1f}" for bar in data["bars"] for n in bar["notes"]}
    drawing = read_drawing((tmp_path / "fingerboard.svg").read_text(encoding="utf-8"))
    assert {text.words for text in drawing.texts if text.kind == "place"} == wanted
    assert wanted <= set(text_of(tmp_path / "sheet.pdf").split())


def test_the_fingerboard_is_drawn_to_scale(tmp_path):
    """Fingers lie on a straight line over their millimetres, to a hundredth of a mm of paper."""
    made(OLD_FINGER, tmp_path, 1)
    drawing = read_drawing((tmp_path / "fingerboard.svg").read_text(encoding="utf-8"))
    places = sorted(
        (float(text.words), (text.box[0] + text.box[2]) / 2)
        for text in drawing.texts
        if text.kind == "finger"
        for text in [_number_below(drawing, text)]
    )
    (low, first), *_, (high, last) = places
    scale = (last - first) / (high - low)
    for mm, x in places:
        assert x == pytest.approx(first + (mm - low) * scale, abs=0.3)  # figures differ in width
    nut = next(s for s in drawing.strokes if s.kind == "nut")
    assert first - low * scale == pytest.approx(nut.points[0][0], abs=0.3)


def _number_below(drawing, finger):
    middle = (finger.box[0] + finger.box[2]) / 2
    below = [t for t in drawing.texts if t.kind == "place" and t.box[1] > finger.box[3]]
    near = [t for t in below if t.box[0] < middle < t.box[2]]
    return min(near, key=lambda text: text.box[1])


def test_the_same_drill_gives_the_same_bytes_in_every_process(tmp_path):
    drill = load_drill(OLD_FINGER)
    _, once = render_sheet(drill, scores_of(drill))
    _, again = render_sheet(drill, scores_of(drill))
    assert once == again
    script = (
        "import sys\nfrom pathlib import Path\nfrom playalong.drill.load import load_drill\n"
        "from playalong.sheet.render import write_sheet\n"
        "from playalong.score.writing import build_score\n"
        "drill = load_drill(Path(sys.argv[1]))\n"
        "scores = [build_score(drill, k, s) for k in drill.keys for s in drill.strings]\n"
        "write_sheet(drill, scores, Path(sys.argv[2]))\n"
    )
    command = [sys.executable, "-c", script, str(OLD_FINGER), str(tmp_path)]
    subprocess.run(command, check=True, env={"PYTHONHASHSEED": "1"})
    assert {path.name: path.read_bytes() for path in tmp_path.iterdir()} == once


def test_names_say_key_and_string_where_there_are_several(tmp_path):
    assert made(OLD_FINGER, tmp_path / "one", 1).all == (
        "sheet.pdf",
        "sheet.musicxml",
        "sheet.svg",
        "fingerboard.svg",
    )
    files = made(OLD_FINGER, tmp_path / "two")
    assert files.musicxml == ("sheet-C-major-D.musicxml", "sheet-C-major-G.musicxml")
    assert files.svg == ("sheet-C-major-D.svg", "sheet-C-major-G.svg")
    assert sorted(files.all) == sorted(path.name for path in (tmp_path / "two").iterdir())


def test_the_pictures_of_several_pages_are_numbered_from_one(tmp_path):
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


def test_only_the_formats_asked_for_are_written(tmp_path):
    files = made(OLD_FINGER, tmp_path, 1, formats=("pdf", "musicxml"))
    assert files.all == ("sheet.pdf", "sheet.musicxml")


def test_a_drill_without_strings_has_no_fingerboard(tmp_path):
    files = made(demo_folder() / "09-singer.toml", tmp_path)
    assert files.fingerboards == ()


def test_letters_that_no_font_has_do_not_stop_the_sheet(tmp_path):
    drill = drill_of("1*8", title="練習 one")
    write_sheet(drill, scores_of(drill), tmp_path)
    assert "?? one" in text_of(tmp_path / "sheet.pdf")


def test_an_unknown_paper_is_refused_with_the_nearest(tmp_path):
    with pytest.raises(PaperError, match='"Leter" is not a paper known here; did you mean "Let'):
        made(OLD_FINGER, tmp_path, paper="Leter")


def test_an_unknown_format_is_refused(tmp_path):
    with pytest.raises(SheetError, match='"docx" is not one of pdf, musicxml, svg'):
        made(OLD_FINGER, tmp_path, formats=("docx",))


def test_a_folder_that_is_a_file_is_refused(tmp_path):
    (tmp_path / "taken").write_text("")
    with pytest.raises(WriteError, match="cannot make the folder"):
        made(OLD_FINGER, tmp_path / "taken")


def test_a_note_too_short_for_any_sign_is_refused(tmp_path):
    drill = drill_of("1*1/480 2*959/480 3*6", 'note = "eighth"')
    with pytest.raises(LengthError, match="1/960 quarters is too short to be written"):
        write_sheet(drill, scores_of(drill), tmp_path)


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
    """As a sign of its own on the sheet, and by name for notation programs."""
    drill = drill_of(bar, f'meter = "{meter}"')
    _, contents = render_sheet(drill, scores_of(drill), formats=("svg", "musicxml"))
    music = fromstring(contents["sheet.musicxml"])
    assert music.findtext(".//beat-unit") == beat
    assert (music.find(".//beat-unit-dot") is not None) == dotted
    signs = [
        stroke
        for stroke in read_drawing(contents["sheet.svg"].decode()).strokes
        if stroke.kind == "beat"
    ]
    assert len(signs) == 1 + dotted


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
