"""A folder in which somebody was at work: nothing of theirs is lost, nothing outside touched."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest
from playing import BANK

from playalong.drill.load import parse
from playalong.drill.model import Drill
from playalong.folder.files import LinkError
from playalong.folder.names import RECORD_FOLDER
from playalong.folder.record import JOURNAL
from playalong.making.make import Built, make
from playalong.making.plan import Options

DRILL = """title = "Kept"
instrument = "violin"
strings = ["A"]
keys = ["C major"]
bar = "p1: 1 p3: 1 p1: 2 1"
note = "quarter"
passes = 1
stages = ["listen"]
tempo = { start = 200, goal = 200 }
click.count_in = 1
session.rest = 0
"""
TRACK = "C-major/A/01-200-listen"
ALL = [
    *(f"{TRACK}{ending}" for ending in (".mid", ".wav", ".timeline.json")),
    *("C-major/A/session.wav", "sheet.pdf", "sheet.musicxml", "index.html"),
    f"page/{TRACK}.wav.css",
    *("read-me-first.txt", "manifest.json"),
]


def build(out: Path, text: str = DRILL, *, options: Options | None = None) -> Built:
    return make(drill(text), out, options or Options(BANK, format="wav"))


def drill(text: str = DRILL) -> Drill:
    return parse(text)


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("made") / "out"
    build(folder)
    return folder


@pytest.fixture
def out(made: Path, tmp_path: Path) -> Path:
    """Copied, so that its times are others, and only hashes tell."""
    return shutil.copytree(made, tmp_path / "out")


def contents(out: Path) -> dict[str, bytes]:
    """Everything in the folder but the record."""
    files = (path for path in out.rglob("*") if path.is_file() and RECORD_FOLDER not in path.parts)
    return {path.relative_to(out).as_posix(): path.read_bytes() for path in files}


def new(name: str) -> str:
    stem, _, ending = name.rpartition(".")
    return f"{stem}.new.{ending}"


def test_the_list_is_of_all_files(made: Path) -> None:
    assert sorted(contents(made)) == sorted(ALL)


def test_changed_files_are_kept_and_told_and_the_new_ones_stand_beside_them(
    made: Path, out: Path
) -> None:
    whole = contents(made)
    edited = {name: raw[:-1] + b"!" for name, raw in whole.items()}  # of the same size
    for name, raw in edited.items():
        (out / name).write_bytes(raw)
    expected = {**edited, **{new(name): raw for name, raw in whole.items()}}
    assert build(out).changed == {name: new(name) for name in sorted(ALL)}
    assert contents(out) == expected
    again = build(out)
    assert again.fresh == 0
    assert again.changed == {name: new(name) for name in sorted(ALL)}
    assert contents(out) == expected


def test_once_the_changed_file_is_moved_away_the_folder_is_as_it_was(made: Path, out: Path) -> None:
    for name in ALL:
        (out / name).write_bytes(b"edited")
    build(out)
    for name in ALL:
        (out / name).unlink()
    assert build(out).changed == {}
    assert contents(out) == contents(made)


def test_the_new_file_may_take_the_place_of_the_changed_one(made: Path, out: Path) -> None:
    (out / "sheet.pdf").write_bytes(b"edited")
    build(out)
    (out / "sheet.new.pdf").replace(out / "sheet.pdf")
    built = build(out)
    assert (built.changed, built.fresh) == ({}, 0)
    assert contents(out) == contents(made)


def test_changed_files_are_kept_by_another_drill_text_too(out: Path) -> None:
    edited = dict.fromkeys(ALL, b"edited")
    for name, raw in edited.items():
        (out / name).write_bytes(raw)
    changed = DRILL.replace("2 1", "1 2")
    build(out, changed)
    assert {name: contents(out)[name] for name in ALL} == edited
    assert build(out, changed).fresh == 0
    left = build(out, changed.replace("C major", "G major")).cleared.left_alone
    assert left == tuple(sorted(name for name in ALL if "C-major" in name))
    for _ in range(2):  # nor does a later build forget it
        build(out, changed.replace("C major", "G major"))
        assert {name: contents(out)[name] for name in ALL} == edited


@pytest.mark.parametrize("name", ["../home/diary.txt", "ABSOLUTE"])
def test_a_planted_record_takes_nothing_away_outside_the_folder(out: Path, name: str) -> None:
    home = out.parent / "home"
    home.mkdir()
    (home / "diary.txt").write_text("mine")
    with (out / RECORD_FOLDER / JOURNAL).open("a") as journal:
        name = str(home / "diary.txt") if name == "ABSOLUTE" else name
        journal.write(json.dumps({"claim": [name]}) + "\n")
    (remark,) = build(out).remarks
    assert "names what cannot be a file of it" in remark
    assert contents(home) == {"diary.txt": b"mine"}
    assert build(out).remarks == ()


@pytest.mark.parametrize(
    ("old", "fresh"),
    [
        ('"audio": "C-major/A/01-200-listen.wav"', '"audio": "../home/diary.txt"'),
        ('"seconds": ', '"seconds": 1e999, "was": '),
        ('"gain": ', '"was": '),
        ('"parts": [', '"parts": [3, '),
        ('"page": "index.html"', '"page": ["index.html"]'),
        ('"pdf": "sheet.pdf"', '"pdf": "../home/diary.txt"'),
        ('"midi": ', '"was": '),
    ],
)
def test_an_entry_that_tells_of_other_files_is_made_again(
    made: Path, out: Path, old: str, fresh: str
) -> None:
    journal = out / RECORD_FOLDER / JOURNAL
    text = journal.read_text()
    assert old in text
    journal.write_text(text.replace(old, fresh))
    assert build(out).fresh > 0
    assert contents(out) == contents(made)


@pytest.mark.parametrize("record", [b"\xff\xfe\0\n", b"[" * 99_999 + b"\n", b'{"claim": 3}\n', b""])
def test_a_lost_record_stops_no_build_and_loses_no_file(
    made: Path, out: Path, record: bytes
) -> None:
    (out / "index.html").write_bytes(b"edited")
    (out / "C-major/A/notes.txt").write_text("mine")
    (out / RECORD_FOLDER / JOURNAL).write_bytes(record)
    (remark,) = build(out).remarks
    assert "was damaged; it is kept as" in remark
    found = contents(out)
    assert found.pop("C-major/A/notes.txt") == b"mine"
    assert found.pop("index.html") == b"edited"
    found["index.html"] = found.pop("index.new.html")
    assert found == contents(made)
    assert build(out).fresh == 0


def test_a_folder_of_the_first_version_is_known(made: Path, out: Path) -> None:
    """Its record had no hash of manifest and read-me, its manifest none of sheet and page."""
    journal, manifest = out / RECORD_FOLDER / JOURNAL, out / "manifest.json"
    lines = [line for line in journal.read_text().splitlines() if '"wrote"' not in line]
    journal.write_text("\n".join(lines).replace("record 2", "record 1") + "\n")
    data = json.loads(manifest.read_text())
    del data["sha256"]
    manifest.write_text(json.dumps(data, ensure_ascii=False, indent=1) + "\n")
    built = build(out)
    assert (built.fresh, built.changed, built.remarks) == (0, {}, ())
    assert contents(out) == contents(made)


def test_a_key_folder_that_is_a_link_is_refused(tmp_path: Path) -> None:
    (tmp_path / "home").mkdir()
    (tmp_path / "out").mkdir()
    (tmp_path / "out/C-major").symlink_to(tmp_path / "home")
    with pytest.raises(LinkError, match="C-major is a link, and playalong writes through none"):
        build(tmp_path / "out")
    assert list((tmp_path / "home").iterdir()) == []
    assert contents(tmp_path / "out") == {}


@pytest.mark.parametrize("name", [f"{TRACK}.wav", "index.html", "sheet.pdf", "manifest.json"])
def test_a_part_that_is_a_link_stops_the_build(out: Path, name: str) -> None:
    diary = out.parent / "diary.txt"
    diary.write_text("mine")
    (out / name).unlink()
    path = out / name
    path.with_name(f".{path.name}.part").symlink_to(diary)
    with pytest.raises(LinkError, match="is a link, and playalong writes through none"):
        build(out)
    assert diary.read_text() == "mine"
