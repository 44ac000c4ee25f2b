"""The record of a folder: what is ours, what still stands, what is taken away."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from playalong.folder.files import sha256
from playalong.folder.lock import FolderBusyError
from playalong.folder.made import Cleared, Made, state
from playalong.folder.names import RECORD_FOLDER
from playalong.folder.record import (
    JOURNAL,
    Record,
    StrangerError,
    opened,
)


def made(out: Path, name: str, content: str, fingerprint: str = "f") -> Made:
    (out / name).parent.mkdir(parents=True, exist_ok=True)
    (out / name).write_text(content)
    at = state(out / name)
    assert at is not None
    return Made(fingerprint, {name: at}, {"sha256": {name: sha256(out / name)}})


@pytest.fixture
def out(tmp_path: Path) -> Path:
    """A folder in which a build made `a/one.mp3`."""
    with opened(tmp_path) as record:
        record.belongs_to("Title", "drill.toml", "bars")
        record.claim(["a/one.mp3"])
        record.add("one", made(tmp_path, "a/one.mp3", "sound"))
    return tmp_path


def test_what_stands_unchanged_is_kept(out: Path) -> None:
    assert Record.read(out).kept("one", "f") is not None


def test_what_was_made_from_other_things_is_not_kept(out: Path) -> None:
    assert Record.read(out).kept("one", "g") is None


def test_a_missing_file_is_noticed(out: Path) -> None:
    (out / "a/one.mp3").unlink()
    assert Record.read(out).kept("one", "f") is None


def test_a_file_of_another_size_is_noticed(out: Path) -> None:
    (out / "a/one.mp3").write_text("sound and more")
    assert Record.read(out).kept("one", "f") is None


def test_a_damaged_file_of_the_same_size_is_noticed_by_its_time_and_hash(out: Path) -> None:
    (out / "a/one.mp3").write_text("noise")
    os.utime(out / "a/one.mp3", ns=(1, 1))
    assert Record.read(out).kept("one", "f") is None


def test_damage_under_the_same_size_and_time_is_noticed_when_asked_to_verify(out: Path) -> None:
    path = out / "a/one.mp3"
    before = path.stat()
    path.write_text("noise")
    os.utime(path, ns=(before.st_atime_ns, before.st_mtime_ns))
    assert Record.read(out).kept("one", "f") is not None
    assert Record.read(out).kept("one", "f", verify=True) is None


def test_a_file_that_was_only_touched_or_copied_is_kept(out: Path) -> None:
    os.utime(out / "a/one.mp3", ns=(1, 1))
    assert Record.read(out).kept("one", "f") is not None


def test_a_strangers_file_is_refused_before_anything_is_written(out: Path) -> None:
    (out / "mine.mp3").write_text("mine")
    with (
        opened(out) as record,
        pytest.raises(StrangerError, match=r"what playalong did not make: mine\.mp3; move it"),
    ):
        record.claim(["a/one.mp3", "mine.mp3"])
    assert (out / "mine.mp3").read_text() == "mine"


@pytest.mark.parametrize(
    ("count", "listed"), [(1, "0.mp3;"), (3, "0.mp3, 1.mp3, 2.mp3;"), (4, "0.mp3, 1.mp3, 2.mp3 …;")]
)
def test_three_strangers_are_named_and_more_are_hinted_at(
    out: Path, count: int, listed: str
) -> None:
    names = [f"{number}.mp3" for number in range(count)]
    for name in names:
        (out / name).write_text("mine")
    with (
        opened(out) as record,
        pytest.raises(StrangerError, match=f"what playalong did not make: {listed}"),
    ):
        record.claim(names)


def test_a_file_claimed_by_a_build_that_was_killed_is_known_as_ours(out: Path) -> None:
    with opened(out) as record:
        record.claim(["two.mp3"])
    (out / "two.mp3").write_text("written, but the build was killed before it could say so")
    with opened(out) as record:
        record.claim(["two.mp3"])


def test_another_drills_folder_is_refused_even_under_the_same_title(out: Path) -> None:
    with (
        opened(out) as record,
        pytest.raises(StrangerError, match='holds the tracks of another drill, "Title"'),
    ):
        record.belongs_to("Title", "other.toml", "other bars")


def test_a_drill_keeps_its_folder_when_it_is_renamed_or_its_bars_change(out: Path) -> None:
    with opened(out) as record:
        record.belongs_to("New title", "drill.toml", "new bars")
        record.belongs_to("New title", "renamed.toml", "new bars")


def test_what_is_no_longer_wanted_is_taken_away_with_its_empty_folder(out: Path) -> None:
    with opened(out) as record:
        assert record.clear(wanted=[]) == Cleared(removed=("a/one.mp3",))
    assert not (out / "a").exists()


def test_a_folder_with_a_strangers_file_in_it_stays(out: Path) -> None:
    (out / "a/notes.txt").write_text("mine")
    with opened(out) as record:
        record.clear(wanted=[])
    assert [path.name for path in (out / "a").iterdir()] == ["notes.txt"]


def test_a_file_changed_by_somebody_is_left_alone_and_told(out: Path) -> None:
    (out / "a/one.mp3").write_text("edited by the teacher")
    with opened(out) as record:
        assert record.clear(wanted=[]) == Cleared(left_alone=("a/one.mp3",))
    assert (out / "a/one.mp3").exists()


def test_what_is_no_longer_wanted_is_taken_away_though_it_was_touched_or_copied(out: Path) -> None:
    os.utime(out / "a/one.mp3", ns=(1, 1))
    with opened(out) as record:
        assert record.clear(wanted=[]) == Cleared(removed=("a/one.mp3",))


def test_the_journal_is_written_anew_with_what_stands_at_the_end_of_a_build(out: Path) -> None:
    journal = out / RECORD_FOLDER / JOURNAL
    with opened(out) as record:
        record.claim(["two.mp3", "three.mp3"])
        record.add("two", made(out, "two.mp3", "more sound"))
        record.close({"two": record.made["two"]}, removed=["a/one.mp3"])
    assert len(journal.read_text().splitlines()) == 3  # the drill, the claims, what was made
    read = Record.read(out)
    assert list(read.made) == ["two"]
    assert read.claimed == {"two.mp3", "three.mp3"}
    assert read.drill == {"title": "Title", "file": "drill.toml", "bars": "bars"}


def test_a_journal_that_says_all_already_is_not_touched(out: Path) -> None:
    journal = out / RECORD_FOLDER / JOURNAL
    for _ in range(2):
        with opened(out) as record:
            record.close(record.made, removed=[])
        os.utime(journal, ns=(1, 1))
    with opened(out) as record:
        record.close(record.made, removed=[])
    assert journal.stat().st_mtime_ns == 1


def test_a_torn_last_line_of_the_journal_is_passed_over(out: Path) -> None:
    journal = out / RECORD_FOLDER / JOURNAL
    journal.write_text(journal.read_text() + '{"made": "two", "finger')
    assert Record.read(out).kept("one", "f") is not None


def test_a_second_build_in_one_folder_says_so_and_stops(out: Path) -> None:
    code = (
        "import sys, pathlib\nfrom playalong.folder.record import opened\n"
        "with opened(pathlib.Path(sys.argv[1])):\n    print('in', flush=True)\n    sys.stdin.read()"
    )
    first = subprocess.Popen(
        [sys.executable, "-c", code, str(out)],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    )
    assert first.stdout is not None
    assert first.stdout.readline() == "in\n"
    with pytest.raises(FolderBusyError, match="another build is at work in"), opened(out):
        pass
    first.communicate("")
    with opened(out):
        pass
