"""The files of a sheet: their names, that they repeat, and what is refused."""

from __future__ import annotations

import subprocess
import sys

import pytest
from playing import drill_of
from sheet_svg import read_drawing
from sheets import OLD_FINGER, scores_of

from playalong.drill.load import load
from playalong.engraving.note_values import LengthError
from playalong.sheet.render import SheetError, SheetFiles, render_sheet
from playalong.sheet.sizes import PaperError
from playalong.shipped import demo_folder


def files_of(count: int | None = None, **choices: object) -> SheetFiles:
    drill = load(OLD_FINGER)
    return render_sheet(drill, scores_of(drill, count), **choices)[0]


def test_the_same_drill_gives_the_same_bytes_in_every_process(tmp_path):
    drill = load(OLD_FINGER)
    _, once = render_sheet(drill, scores_of(drill))
    _, again = render_sheet(drill, scores_of(drill))
    assert once == again
    script = (
        "import sys\nfrom pathlib import Path\nfrom playalong.drill.load import load\n"
        "from playalong.sheet.render import render_sheet\n"
        "from playalong.score.writing import write\n"
        "drill = load(Path(sys.argv[1]))\n"
        "scores = [write(drill, *pair) for pair in drill.pairs]\n"
        "for name, content in render_sheet(drill, scores)[1].items():\n"
        "    Path(sys.argv[2], name).write_bytes(content)\n"
    )
    command = [sys.executable, "-c", script, str(OLD_FINGER), str(tmp_path)]
    subprocess.run(command, check=True, env={"PYTHONHASHSEED": "1"})
    assert {path.name: path.read_bytes() for path in tmp_path.iterdir()} == once


def test_music_and_fingerboards_say_key_and_string_where_there_are_several():
    assert files_of(1).all == ("sheet.pdf", "sheet.musicxml", "sheet.svg", "fingerboard.svg")
    files = files_of()
    assert files.musicxml == ("sheet-C-major-D.musicxml", "sheet-C-major-G.musicxml")
    assert files.svg == ("sheet-1.svg", "sheet-2.svg")
    assert files.fingerboards == ("fingerboard-C-major-D.svg", "fingerboard-C-major-G.svg")


def test_the_pictures_of_several_pages_are_numbered_from_one():
    bar = "p1: 1 2 3 1 p3: 1 2 p1: 2 1"
    drill = drill_of(f"{bar} | {bar}", "climb = [" + "1, 2, 3, 4, " * 4 + "]")
    files, contents = render_sheet(drill, scores_of(drill), formats=("svg",))
    assert files.page_count > 1
    assert files.svg == tuple(f"sheet-{n}.svg" for n in range(1, files.page_count + 1))
    for number, name in enumerate(files.svg, 1):
        words = [text.words for text in read_drawing(contents[name].decode()).texts]
        assert f"{number} / {files.page_count}" in words


def test_every_name_has_its_bytes():
    drill = load(OLD_FINGER)
    files, contents = render_sheet(drill, scores_of(drill))
    assert files.all == tuple(contents)


def test_only_the_formats_asked_for_are_made():
    assert files_of(1, formats=("pdf", "musicxml")).all == ("sheet.pdf", "sheet.musicxml")
    alone = files_of(1, formats=("musicxml",))
    assert (alone.all, alone.page_count) == (("sheet.musicxml",), 0)


def test_a_drill_without_strings_has_no_fingerboard():
    drill = load(demo_folder() / "09-singer.toml")
    assert render_sheet(drill, scores_of(drill))[0].fingerboards == ()


def test_an_unknown_paper_is_refused_with_the_nearest():
    with pytest.raises(PaperError, match='"Leter" is not a paper known here; did you mean "Let'):
        files_of(paper="Leter")


def test_an_unknown_format_is_refused():
    with pytest.raises(SheetError, match='"docx" is not one of pdf, musicxml, svg'):
        files_of(formats=("docx",))


def test_a_sheet_of_no_key_is_refused():
    with pytest.raises(SheetError, match="the sheet cannot be made: no key to write"):
        render_sheet(load(OLD_FINGER), [])


def test_a_note_too_short_for_any_sign_is_refused():
    drill = drill_of("1*1/480 2*959/480 3*6", 'note = "eighth"')
    with pytest.raises(LengthError, match="1/960 quarters is too short to be written"):
        render_sheet(drill, scores_of(drill))
