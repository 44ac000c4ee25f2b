"""Whatever a folder carries, nothing outside it is touched, and no file of somebody's is lost."""

from __future__ import annotations

import json
import os
import random
import resource
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from playalong.folder import journal as journal_module
from playalong.folder.files import LinkError, WriteError, remove_parts, sha256, write_text
from playalong.folder.inside import is_plain, quoted
from playalong.folder.lock import LOCK
from playalong.folder.made import Made, state
from playalong.folder.manifest import Manifest, ManifestError
from playalong.folder.names import RECORD_FOLDER
from playalong.folder.record import JOURNAL, Record, StrangerError, opened
from playalong.sound.audio import write_audio
from playalong.sound.tags import Tags

RANDOM_RECORDS = 1_000
MUTATED_RECORDS = 1_000


def contents(folder: Path) -> dict[str, bytes | str]:
    """Every file below a folder, and where every link leads."""
    return {
        str(path.relative_to(folder)): os.readlink(path) if path.is_symlink() else path.read_bytes()
        for path in folder.rglob("*")
        if path.is_symlink() or path.is_file()
    }


@pytest.fixture
def out(tmp_path: Path) -> Path:
    """A folder in which a build made `a/one.mp3`."""
    folder = tmp_path / "out"
    with opened(folder) as record:
        record.belongs_to("Title", "drill.toml", "bars")
        record.claim(["a/one.mp3"])
        (folder / "a").mkdir()
        sha = write_text(folder / "a/one.mp3", "sound", record.settle)
        made = Made("f", record.states(["a/one.mp3"]), {"sha256": {"a/one.mp3": sha}})
        record.add("one", made)
        record.close(record.made, [])
    return folder


@pytest.fixture
def home(tmp_path: Path) -> Iterator[Path]:
    """A folder beside `out`, which must stay as it is."""
    folder = tmp_path / "home"
    (folder / "empty").mkdir(parents=True)
    (folder / "diary.txt").write_text("mine")
    before = contents(folder)
    yield folder
    assert contents(folder) == before
    assert (folder / "empty").is_dir()


def plant(out: Path, *lines: Any) -> None:
    with (out / RECORD_FOLDER / JOURNAL).open("a") as journal:
        journal.writelines(json.dumps(line) + "\n" for line in lines)


# --- names


HOSTILE = [
    "../home/diary.txt",
    "a/../../home/diary.txt",
    "",
    ".",
    "..",
    "a//one.mp3",
    "a/./one.mp3",
    "a/one.mp3/",
    "..\\home\\diary.txt",
    "C:diary.txt",
    "C:/home/diary.txt",
    "a\0b",
    "a\nb",
    "a\x1b[2Jb",
    "a\x9bb",
    "\ud800",
    "con",
    "a/NUL.txt",
    "a. ",
]


@pytest.mark.parametrize("name", HOSTILE, ids=ascii)
def test_a_name_that_could_lead_elsewhere_is_no_plain_name(name: str) -> None:
    assert not is_plain(name)


@pytest.mark.parametrize(
    "name", ["index.html", "F-major/D/01-060-listen.timeline.json", "练/é-1.mp3", "a/.b", "a/b c"]
)
def test_a_relative_path_below_the_folder_is_plain(name: str) -> None:
    assert is_plain(name)


def test_a_name_is_told_without_what_moves_the_terminal() -> None:
    assert quoted("Übung") == '"Übung"'
    assert quoted("a\x1b[2J\u202e") == '"a\\u001b[2J\\u202e"'
    assert len(quoted("x" * 10_000)) < 100


@pytest.mark.parametrize("name", [*HOSTILE, "ABSOLUTE"], ids=ascii)
@pytest.mark.parametrize("kind", ["claim", "wrote", "made"])
def test_a_planted_name_is_told_and_never_acted_on(
    out: Path, home: Path, kind: str, name: str
) -> None:
    diary = home / "diary.txt"
    name, sha = str(diary) if name == "ABSOLUTE" else name, sha256(diary)
    at = state(diary)
    assert at is not None
    line: dict[str, Any] = {
        "claim": {"claim": [name]},
        "wrote": {"wrote": {name: [sha]}},
        "made": {
            "made": "two",
            "fingerprint": "f",
            "files": {name: list(at)},
            "entry": {"sha256": {name: sha}},
        },
    }[kind]
    plant(out, line)
    with opened(out) as record:
        assert record.kept("two", "f") is None
        assert record.clear(wanted=["a/one.mp3"]).removed == ()
        (remark,) = record.remarks
        record.close(record.made, [])
    # half a character cannot even be a line of the record, which is then set aside
    assert "names what cannot be a file of it" in remark or name == "\ud800"
    assert name == "" or Record.read(out).claimed == {"a/one.mp3"}


@pytest.mark.parametrize("name", [f"{RECORD_FOLDER}/{JOURNAL}", f"{RECORD_FOLDER.upper()}/{LOCK}"])
def test_the_record_itself_is_never_taken_away(out: Path, name: str) -> None:
    plant(out, {"claim": [name]})
    with opened(out) as record:
        assert record.clear(wanted=["a/one.mp3"]).removed == ()
    assert (out / RECORD_FOLDER / JOURNAL).exists()


def test_a_claim_alone_takes_nothing_away(out: Path) -> None:
    (out / "diary.txt").write_text("mine")
    plant(out, {"claim": ["diary.txt"]})
    with opened(out) as record:
        assert record.clear(wanted=["a/one.mp3"]).left_alone == ("diary.txt",)
    assert (out / "diary.txt").read_text() == "mine"


# --- links


@pytest.mark.parametrize(
    "name", [RECORD_FOLDER, f"{RECORD_FOLDER}/{JOURNAL}", f"{RECORD_FOLDER}/{LOCK}"]
)
def test_a_link_in_place_of_the_record_is_refused(out: Path, home: Path, name: str) -> None:
    path = out / name
    path.rename(out.parent / "moved")
    path.symlink_to(home if name == RECORD_FOLDER else home / "diary.txt")
    with (
        pytest.raises(LinkError, match="is a link, and playalong writes through none"),
        opened(out),
    ):
        pass


def test_a_pipe_in_place_of_the_record_is_refused_and_not_waited_for(out: Path) -> None:
    (out / RECORD_FOLDER / JOURNAL).unlink()
    os.mkfifo(out / RECORD_FOLDER / JOURNAL)
    with pytest.raises(LinkError, match="is no plain file"), opened(out):
        pass


def test_a_folder_that_is_a_link_is_refused_before_anything_is_written(
    out: Path, home: Path
) -> None:
    (out / "b").symlink_to(home / "empty")
    with opened(out) as record, pytest.raises(LinkError, match=r"out/b is a link"):
        record.claim(["b/D/two.mp3"])


def test_nothing_is_cleared_behind_a_link(out: Path, home: Path) -> None:
    (out / "a/one.mp3").unlink()
    (out / "a").rmdir()
    (home / "one.mp3").write_text("sound")
    before = contents(home)
    (out / "a").symlink_to(home)
    with opened(out) as record:
        assert record.kept("one", "f") is None
        assert record.clear(wanted=[]).left_alone == ("a/one.mp3",)
    assert contents(home) == before
    (home / "one.mp3").unlink()


def test_the_folder_itself_may_be_a_link(out: Path, tmp_path: Path) -> None:
    (tmp_path / "link").symlink_to(out)
    with opened(tmp_path / "link") as record:
        assert record.kept("one", "f")
        record.claim(["two.mp3"])
        write_text(tmp_path / "link/two.mp3", "sound", record.settle)
    assert (out / "two.mp3").read_text() == "sound"


def test_a_part_that_is_a_link_is_neither_written_through_nor_removed(
    out: Path, home: Path
) -> None:
    (out / ".two.wav.part").symlink_to(home / "diary.txt")
    before = contents(out)
    with pytest.raises(LinkError, match="is a link"):
        write_text(out / "two.wav", "sound")
    with pytest.raises(LinkError, match="is a link"):
        write_audio(
            out / "two.wav",
            [np.zeros(64, np.float32)],
            format="wav",
            channels=1,
            tags=Tags("T"),
        )
    with pytest.raises(LinkError, match="is a link"):
        remove_parts(out, ["two.wav"])
    assert contents(out) == before


def test_a_part_with_a_second_name_is_not_written_through(out: Path, home: Path) -> None:
    os.link(home / "diary.txt", out / ".two.txt.part")
    write_text(out / "two.txt", "sound")


def test_a_record_with_a_second_name_is_not_written_through(out: Path, home: Path) -> None:
    other = out.parent / "backup.jsonl"
    os.link(out / RECORD_FOLDER / JOURNAL, other)
    before = other.read_bytes()
    with opened(out) as record:
        record.claim(["two.mp3"])
    assert other.read_bytes() == before
    assert Record.read(out).claimed == {"a/one.mp3", "two.mp3"}


def test_a_link_in_a_files_place_is_somebodys(out: Path, home: Path) -> None:
    (out / "a/one.mp3").unlink()
    (out / "a/one.mp3").symlink_to(home / "diary.txt")
    with opened(out) as record:
        write_text(out / "a/one.mp3", "new", record.settle)
    assert (out / "a/one.mp3").is_symlink()
    assert (out / "a/one.new.mp3").read_text() == "new"


# --- damaged records


DAMAGED = {
    "half a character": b'{"claim": ["\xc3"]}\n',
    "deep brackets": b"[" * 100_000 + b"\n",
    "wrong types": b'{"claim": 3}\n{"made": [], "files": 1}\n{"drill": "x"}\n[]\n"claim"\n',
    "wrong states": b'{"made":"x","fingerprint":"f","files":{"a":[1]},'
    b'"entry":{"sha256":{"a":"b"}}}\n',
    "no hash": b'{"made":"x","fingerprint":"f","files":{"a":[1,2]},"entry":{"sha256":{}}}\n',
    "no number": b'{"drill": NaN}\n',
    "endless number": b'{"made": ' + b"9" * 10_000 + b"}\n",
    "another format": b'{"drill":{"title":"","file":"","bars":""},"format":"playalong record 9"}\n',
    "nothing": b"\0" * 4096 + b"\n",
}


@pytest.mark.parametrize("damage", DAMAGED.values(), ids=DAMAGED.keys())
def test_a_damaged_record_is_set_aside_and_told_and_the_rest_of_it_holds(
    out: Path, damage: bytes
) -> None:
    journal = out / RECORD_FOLDER / JOURNAL
    raw = damage + journal.read_bytes()
    journal.write_bytes(raw)
    with opened(out) as record:
        assert record.kept("one", "f")
        (remark,) = record.remarks
    assert "was damaged; it is kept as .playalong/record.kept-1.jsonl" in remark
    assert (out / RECORD_FOLDER / "record.kept-1.jsonl").read_bytes() == raw
    with opened(out) as record:
        assert record.remarks == []
        assert record.kept("one", "f")


GIGABYTES = 5 * 1024**3
FLOODS = {
    "gigabytes": b"",
    "one line": b"[" * 100_000_000 + b"\n",
    "no line": b"\n" * 20_000_000,
    "brackets": (b"[" + b"[]," * 300_000 + b"1]\n") * 20,
    "claims": b'{"claim": ["x"]}\n' * 1_000_000,
}


@pytest.mark.parametrize("name", FLOODS)
def test_a_record_larger_than_any_is_read_so_far_and_set_aside(
    out: Path, name: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """In seconds, and not in gigabytes of memory; what stood at its head holds."""
    monkeypatch.setattr(journal_module, "MOST_LINES", 20_000)
    monkeypatch.setattr(journal_module, "LARGEST_BYTES", 4_000_000)
    journal = out / RECORD_FOLDER / JOURNAL
    with journal.open("ab") as file:
        file.write(FLOODS[name])
    if name == "gigabytes":
        os.truncate(journal, GIGABYTES)  # sparse
    size = journal.stat().st_size
    before = resource.getrusage(resource.RUSAGE_SELF)
    with opened(out) as record:
        assert record.kept("one", "f")
        assert any("was damaged; it is kept as" in remark for remark in record.remarks)
    after = resource.getrusage(resource.RUSAGE_SELF)
    assert after.ru_utime - before.ru_utime < 2
    assert (after.ru_maxrss - before.ru_maxrss) * 1024 < 100_000_000
    assert (out / RECORD_FOLDER / "record.kept-1.jsonl").stat().st_size == size


def test_a_record_of_many_names_is_written_in_lines_that_are_read_back(out: Path) -> None:
    names = [f"b/{number}.mp3" for number in range(5_000)]
    with opened(out) as record:
        record.claim(names)
    assert Record.read(out).claimed == {"a/one.mp3", *names}
    with opened(out) as record:
        record.close(record.made, [])
    assert Record.read(out).claimed == {"a/one.mp3", *names}
    lines = (out / RECORD_FOLDER / JOURNAL).read_bytes().splitlines()
    assert max(map(len, lines)) < 20_000


@pytest.mark.parametrize("content", [b"[" + b"[]," * 5_000_000 + b"1]", b" " * 20_000_000])
def test_a_manifest_made_to_fill_the_memory_is_not_read(out: Path, content: bytes) -> None:
    (out / "manifest.json").write_bytes(content)
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    with pytest.raises(ManifestError, match=r"manifest\.json (is not a|has 20,000,000 bytes)"):
        Manifest.read(out)
    assert (resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before) * 1024 < 100_000_000


def test_every_damaged_record_is_kept(out: Path) -> None:
    for number in (1, 2):
        (out / RECORD_FOLDER / JOURNAL).write_bytes(b"damage\n")
        with opened(out):
            pass
        assert (out / RECORD_FOLDER / f"record.kept-{number}.jsonl").read_bytes() == b"damage\n"


def test_a_lost_record_is_made_anew_from_what_the_manifest_names(out: Path) -> None:
    (out / "index.html").write_text("page")
    (out / "sheet.pdf").write_text("sheet")
    hashes = {"index.html": sha256(out / "index.html"), "sheet.pdf": "00", "../x": "00"}
    (out / "manifest.json").write_text(Manifest("T", "drill.toml", "", sha256=hashes).json())
    before = (out / "manifest.json").read_bytes()
    (out / RECORD_FOLDER / JOURNAL).write_bytes(b"\xff\xfe\n")
    with opened(out) as record:
        record.claim(["index.html", "sheet.pdf", "manifest.json"])
        with pytest.raises(StrangerError, match=r"did not make: a/one\.mp3"):
            record.claim(["a/one.mp3"])
        with pytest.raises(StrangerError, match='another drill, "T"'):
            record.belongs_to("Other", "other.toml", "bars")
        cleared = record.clear(wanted=[])
    assert cleared.removed == ("index.html", "manifest.json")
    assert cleared.left_alone == ("sheet.pdf",)
    assert (out / RECORD_FOLDER / "manifest.kept-1.json").read_bytes() == before


@pytest.mark.parametrize(
    "cut", [b'{"claim": ["tw', b'{"claim": ["\xc3', b"\n", b'{"claim": ["x"]}']
)
def test_what_follows_a_cut_line_starts_a_line(out: Path, cut: bytes) -> None:
    journal = out / RECORD_FOLDER / JOURNAL
    journal.write_bytes(journal.read_bytes().rstrip(b"\n") + b"\n" + cut.lstrip(b"\n"))
    for name in ("two.mp3", "three.mp3"):
        with opened(out) as record:
            assert record.remarks == []
            record.claim([name])
    assert Record.read(out).claimed == {"a/one.mp3", "two.mp3", "three.mp3"}


@pytest.mark.parametrize("title", [r"\ud800", None], ids=["half a character", "a pipe"])
def test_a_manifest_that_no_build_wrote_mends_nothing(out: Path, title: str | None) -> None:
    path = out / "manifest.json"
    if title is None:
        os.mkfifo(path)
    else:
        path.write_text(Manifest("TITLE", "drill.toml", "").json().replace("TITLE", title))
    (out / RECORD_FOLDER / JOURNAL).write_bytes(b"damage\n")
    with opened(out) as record:
        assert record.claimed == set()
        assert "was damaged" in record.remarks[0]


def test_a_title_with_any_line_break_is_read_back(out: Path) -> None:
    with opened(out) as record:
        record.belongs_to("a\u2028b\x85c", "drill.toml", "bars")
    with opened(out) as record:
        assert record.drill["title"] == "a\u2028b\x85c"
        assert record.remarks == []


def records(out: Path) -> Iterator[bytes]:
    """Random bytes, and the record itself with bytes changed, cut, doubled or put in."""
    chance = random.Random(9)
    whole = (out / RECORD_FOLDER / JOURNAL).read_bytes()
    for _ in range(RANDOM_RECORDS):
        yield chance.randbytes(chance.randrange(200))
    for _ in range(MUTATED_RECORDS):
        raw = bytearray(whole)
        for _ in range(chance.randrange(1, 6)):
            at, to = sorted(chance.randrange(len(raw) + 1) for _ in range(2))
            raw[at:to] = chance.choice(
                [b"", bytes(raw[at:to]) * 2, chance.randbytes(3), b"../", b'"', b"\n", b"[{", b"\0"]
            )
        yield bytes(raw)


def test_no_record_leads_to_a_traceback_or_a_lost_file(out: Path, home: Path) -> None:
    (out / "a/mine.mp3").write_text("mine")
    (out / "a/two.mp3").write_text("edited")
    plant(out, {"claim": ["a/two.mp3"]})
    kept = {name: raw for name, raw in contents(out).items() if not name.startswith(RECORD_FOLDER)}
    for raw in list(records(out)):
        for aside in (out / RECORD_FOLDER).glob("*.kept-*"):
            aside.unlink()
        (out / RECORD_FOLDER / JOURNAL).write_bytes(raw)
        with suppress(StrangerError, WriteError), opened(out) as record:  # told in a sentence
            record.belongs_to("Title", "drill.toml", "bars")
            record.claim(["a/one.mp3", "a/two.mp3"])
            made = record.kept("one", "f")
            write_text(out / "a/two.mp3", "new", record.settle)
            cleared = record.clear(wanted=["a/one.mp3", "a/two.mp3"])
            record.close({"one": made} if made else {}, cleared.removed)
        for name, content in kept.items():
            assert (out / name).read_bytes() == content
        (out / "a/two.new.mp3").unlink(missing_ok=True)
