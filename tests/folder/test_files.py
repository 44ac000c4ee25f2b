"""Files are written whole or not at all."""

from __future__ import annotations

import hashlib
import os
from collections.abc import Iterator
from pathlib import Path

import pytest

from playalong.folder.files import (
    WriteError,
    make_folder,
    part_of,
    remove_parts,
    sha256,
    write_bytes,
    write_pieces,
    write_text,
)


def names(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.iterdir())


def test_a_file_is_written_with_nothing_beside_it(tmp_path: Path) -> None:
    write_text(tmp_path / "a.txt", "Übung\n")
    assert (tmp_path / "a.txt").read_bytes() == "Übung\n".encode()
    assert names(tmp_path) == ["a.txt"]


def test_a_file_is_replaced_whole(tmp_path: Path) -> None:
    write_bytes(tmp_path / "a", b"a long first version")
    write_bytes(tmp_path / "a", b"short")
    assert (tmp_path / "a").read_bytes() == b"short"


@pytest.mark.parametrize("failing", ["write", "replace"])
def test_a_failure_leaves_the_old_file_and_no_part(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, failing: str
) -> None:
    write_bytes(tmp_path / "a", b"old")

    def half() -> Iterator[bytes]:
        yield b"n"
        raise OSError(28, "No space left on device")

    def refused(*paths: object) -> None:
        raise OSError(28, "No space left on device")

    if failing == "replace":
        monkeypatch.setattr(os, "replace", refused)
    pieces = half() if failing == "write" else (b"new",)
    with pytest.raises(WriteError, match=r"cannot write .*a: No space left on device; check"):
        write_pieces(tmp_path / "a", pieces)
    assert (tmp_path / "a").read_bytes() == b"old"
    assert names(tmp_path) == ["a"]


def test_an_interruption_leaves_no_part(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def interrupted(*paths: object) -> None:
        raise KeyboardInterrupt("in the middle")

    monkeypatch.setattr(os, "replace", interrupted)
    with pytest.raises(KeyboardInterrupt, match="in the middle"):
        write_bytes(tmp_path / "a", b"new")
    assert names(tmp_path) == []


def test_parts_that_a_killed_build_left_are_taken_away_and_nothing_else(tmp_path: Path) -> None:
    make_folder(tmp_path / "key")
    for name in ("key/one.mp3", "two.mp3"):
        part_of(tmp_path / name).write_bytes(b"half")
    write_bytes(tmp_path / "two.mp3", b"whole")
    part_of(tmp_path / "stranger.mp3").write_bytes(b"half")
    part_of(tmp_path / "two.mp3").write_bytes(b"half")
    remove_parts(tmp_path, ["key/one.mp3", "two.mp3", "three.mp3"])
    assert names(tmp_path / "key") == []
    assert names(tmp_path) == [".stranger.mp3.part", "key", "two.mp3"]
    assert (tmp_path / "two.mp3").read_bytes() == b"whole"


def test_a_missing_folder_is_told(tmp_path: Path) -> None:
    with pytest.raises(WriteError, match=r"cannot write .*a: No such file or directory"):
        write_bytes(tmp_path / "nowhere" / "a", b"")


def test_a_folder_is_made_with_those_above_it_and_may_be_there(tmp_path: Path) -> None:
    for _ in range(2):
        make_folder(tmp_path / "one" / "two")
    assert (tmp_path / "one" / "two").is_dir()


def test_a_file_in_a_folders_place_is_told(tmp_path: Path) -> None:
    (tmp_path / "one").write_text("")
    with pytest.raises(WriteError, match=r"cannot make the folder .*one: File exists"):
        make_folder(tmp_path / "one")


def test_a_files_hash_is_its_sha256(tmp_path: Path) -> None:
    write_bytes(tmp_path / "a", b"abc")
    # FIPS 180-2, appendix B.1
    assert sha256(tmp_path / "a") == (
        "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
    )
    assert sha256(tmp_path / "a") == hashlib.sha256(b"abc").hexdigest()
