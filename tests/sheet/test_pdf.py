"""The PDF, as poppler reads it: words that can be searched, fonts, paper, pages."""

from __future__ import annotations

import re
from functools import cache

import numpy as np
import pytest
from PIL import Image
from playing import drill_of
from pypdf import PdfReader
from sheets import NEW_KEYS, OLD_FINGER, scores_of, text_of, told, write_sheet

from playalong.drill.load import load
from playalong.drill.stage import STAGES
from playalong.guidance import PLAYER, cautions
from playalong.performance.ladder import rungs
from playalong.score.explanation import stage_words

A4, LETTER = (595.276, 841.89), (612.0, 792.0)  # points; ISO 216, ANSI Y14.1
POINT_TOLERANCE = 0.01


def test_a_reader_finds_title_key_string_ladder_cautions_and_stages(tmp_path):
    drill = load(OLD_FINGER)
    write_sheet(drill, tmp_path, scores_of(drill, 1))
    text = text_of(tmp_path / "sheet.pdf")
    assert drill.title in text
    assert "Viola, D string (II), C major" in text
    assert "= " + " · ".join(map(str, rungs(drill.tempo))) in text
    stages = (stage.told(slides=True, landings=True, manner=PLAYER) for stage in STAGES.values())
    for words in (*cautions(PLAYER), *stages):
        assert words in text


def test_without_shifts_the_stages_promise_none(tmp_path):
    write_sheet(drill_of("1*4 3*4", 'keys = ["C major"]\nstrings = ["D"]'), tmp_path)
    text = text_of(tmp_path / "sheet.pdf")
    assert "check: you play; the first note of every bar sounds halfway through" in text
    assert "shift" not in text


def test_a_flat_key_is_found_with_its_sign(tmp_path):
    drill = drill_of("1*8", 'keys = ["Bb major"]', title="Größer, höher – žluťoučký")
    write_sheet(drill, tmp_path)
    text = text_of(tmp_path / "sheet.pdf")
    assert "B♭ major" in text
    assert "Größer, höher – žluťoučký" in text


def test_shifts_positions_strings_and_twins_are_named(tmp_path):
    drill = load(OLD_FINGER)
    scores = scores_of(drill, 1)
    write_sheet(drill, tmp_path, scores)
    text = text_of(tmp_path / "sheet.pdf")
    arrivals = [note.arrival for note in scores[0].notes if note.arrival]
    assert arrivals
    for travel in arrivals:
        assert travel.kind in text
        assert f"{travel.hand_travel_mm:.0f} mm" in text
    assert "3rd position" in text
    assert "II" in text
    octave = drill_of("1 2 3 4 4 3 2 1", 'climb = [1, 8]\nkeys = ["G major"]\nstrings = ["D"]')
    write_sheet(octave, tmp_path / "octave")
    assert "bar 2: as bar 1, an octave higher" in text_of(tmp_path / "octave" / "sheet.pdf")


def test_open_strings_that_stand_apart_from_the_key_are_told(tmp_path):
    """check: in just C major the open A is 21.5 cents above the sixth (a syntonic comma)."""
    drill = drill_of("1*8", 'keys = ["C major"]\ntuning = { temperament = "just" }')
    write_sheet(drill, tmp_path)
    text = text_of(tmp_path / "sheet.pdf")
    assert "the open A string stands 21.5 cents above the key’s A" in text


def test_the_passes_stand_over_each_repeat(tmp_path):
    write_sheet(drill_of("1*4 p3: 1*4", "passes = 3\nclimb = 2"), tmp_path)
    assert text_of(tmp_path / "sheet.pdf").count("3×") == 3  # two repeats and what it means


@pytest.fixture(scope="module")
def new_keys(tmp_path_factory):
    """Makes the document of several keys and strings, once for each paper."""

    @cache
    def made(paper):
        out = tmp_path_factory.mktemp("new_keys")
        return write_sheet(load(NEW_KEYS), out, paper=paper).page_count, out / "sheet.pdf"

    return made


def test_every_font_is_embedded(new_keys):
    _, pdf = new_keys("A4")
    lines = told("pdffonts", pdf).splitlines()[2:]
    assert lines
    for line in lines:
        embedded, subset, unicode = line.split()[-5:-2]
        assert (embedded, subset, unicode) == ("yes", "yes", "yes"), line


@pytest.mark.parametrize(("paper", "points"), [("A4", A4), ("Letter", LETTER)])
def test_several_keys_and_strings_are_one_document_in_the_order_of_practice(
    paper, points, new_keys
):
    drill = load(NEW_KEYS)
    count, pdf = new_keys(paper)
    info = told("pdfinfo", pdf)
    assert int(re.search(r"Pages: +(\d+)", info)[1]) == count < len(drill.pairs)
    size = re.search(r"Page size: +([\d.]+) x ([\d.]+)", info)
    assert (float(size[1]), float(size[2])) == pytest.approx(points, abs=POINT_TOLERANCE)
    text = text_of(pdf)
    names = [
        f"{string} string ({'III' if string == 'D' else 'II'}), {key.name.replace('Bb', 'B♭')} "
        for key, string in drill.pairs
    ]
    places = [text.find(name) for name in names]
    assert -1 not in places
    assert places == sorted(places)
    for page in range(1, count + 1):
        foot = text_of(pdf, page=page).replace(" ", "")
        assert f"{page}/{count}" in foot  # poppler may take the blanks for kerning


def test_the_footer_stands_once_in_a_document(new_keys):
    drill = load(NEW_KEYS)
    text = text_of(new_keys("A4")[1])
    for words in (
        *cautions(PLAYER),
        *(stage_words(stage, scores_of(drill)) for stage in drill.stages),
    ):
        assert text.count(words) == 1


@pytest.fixture(scope="module")
def spoken(tmp_path_factory):
    """A sheet of two strings, for those who listen."""
    out = tmp_path_factory.mktemp("spoken")
    bar = 'note = "half"\nauthor = "A. Teacher"\nstrings = ["D", "G"]\nkeys = ["F major"]'
    write_sheet(drill_of("p1: 1 3 | p3: ( 3 1 )", bar, title="Up", instrument="viola"), out)
    return out / "sheet.pdf"


def test_the_document_is_tagged_and_says_what_it_is_and_who_wrote_it(spoken):
    told_of = dict(re.findall(r"^([\w ]+): +(.*)$", told("pdfinfo", spoken), re.M))
    assert told_of["Tagged"] == "yes"
    assert (told_of["Title"], told_of["Author"]) == ("Up", "A. Teacher")
    assert "Viola" in told_of["Subject"]
    assert PdfReader(spoken).root_object["/Lang"] == "en"


def test_a_reader_who_listens_hears_headings_and_paragraphs_in_order_and_whole_words(spoken):
    """ISO 32000-1, 14.8.4: H1, H2, P and Figure, as poppler finds them in the structure."""
    found = re.findall(r"^  (\w+)(?: \(block\))?\n    \"(.*)\"$", structure(spoken), re.M)
    headings = [text for role, text in found if role in ("H1", "H2")]
    assert headings == [
        *("Up", "D string (II), F major", "G string (III), F major"),
        *("How to practise", "How to read it", "Please read"),
    ]
    paragraphs = [text for role, text in found if role == "P"]
    for words in cautions(PLAYER):
        assert words in paragraphs
    # Foot lines are passed over.
    assert not any("1 / 1" in text for _, text in found)


def structure(pdf):
    return told("pdfinfo", "-struct-text", pdf)


def test_each_line_of_music_and_each_string_is_told_in_words(spoken):
    first, board, *_ = figures(spoken)
    assert first.startswith("Bar 1: E4, half, finger 1, D string, 1st position, down bow; G4, fin")
    assert re.search(r"Bar 2: shift, same finger, \d+ mm, B♭4, finger 3, 3rd position", first)
    assert "slur ends; 2 passes." in first
    assert board.startswith("Where the fingers stand. Viola, string length")
    assert "D string, 1st position: E4 at " in board
    assert len(figures(spoken)) == 4  # two strings, each with music and picture


def figures(pdf, entry="/Alt"):
    """What stands for the pictures, as pypdf finds it in the structure."""
    elements = PdfReader(pdf).root_object["/StructTreeRoot"]["/K"][0]["/K"]
    return [each.get_object()[entry] for each in elements if each.get_object()["/S"] == "/Figure"]


def test_each_figure_says_where_it_stands_and_its_ink_stands_there(spoken, tmp_path):
    """ISO 14289-1, 7.3. Poppler draws the page: its outermost ink is within two points of
    each side of the box, inside or beside it."""
    told("pdftoppm", "-r", "72", "-gray", "-singlefile", spoken, tmp_path / "page")
    page = np.asarray(Image.open(tmp_path / "page.pgm")) < 250
    boxes = figures(spoken, "/A")
    assert [each["/O"] for each in boxes] == ["/Layout"] * 4
    for left, low, right, high in (map(float, each["/BBox"]) for each in boxes):
        top, bottom = (page.shape[0] - y for y in (high, low))
        around = page[int(top) - 2 : int(bottom) + 3, int(left) - 2 : int(right) + 3]
        columns, rows = (np.flatnonzero(around.any(axis=axis)) for axis in (0, 1))
        for places, size in ((columns, around.shape[1]), (rows, around.shape[0])):
            assert 1 <= places[0] <= 4
            assert 1 <= size - 1 - places[-1] <= 4


def test_every_sign_of_the_content_belongs_to_the_structure_and_the_right_element(spoken):
    """ISO 32000-1, 14.7.4.4: the parent tree leads from each number on a page to its element."""
    read = PdfReader(spoken)
    tree = read.root_object["/StructTreeRoot"]
    pages = dict(zip(*[iter(tree["/ParentTree"]["/Nums"])] * 2, strict=True))
    for page in read.pages:
        drawn = page.get_contents().get_data().decode("latin-1")
        marked = re.findall(r"^/(\w+) <</MCID (\d+)>> BDC$", drawn, re.M)
        owners = [each.get_object() for each in pages[page["/StructParents"]]]
        assert [(each["/S"][1:], str(each["/K"][0])) for each in owners] == marked
        assert drawn.count("BDC") + drawn.count("BMC") == drawn.count("EMC")


def test_the_sign_of_the_beat_is_read_as_a_word(spoken):
    assert "quarter = 60" in text_of(spoken)


def test_letters_that_no_font_has_do_not_stop_the_sheet(tmp_path):
    write_sheet(drill_of("1*8", title="練習 one"), tmp_path)
    assert "?? one" in text_of(tmp_path / "sheet.pdf")
