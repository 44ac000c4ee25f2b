"""One zip of the files: of the predicted size, the same twice, with names that are safe."""

from __future__ import annotations

import zipfile
from io import BytesIO
from pathlib import Path, PurePosixPath

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from playalong.mail.zip import predicted_zip_bytes, safe_paths, zip_bytes

ZIP_FILES = st.dictionaries(
    st.text(st.characters(exclude_categories=["C", "Z"]), min_size=1, max_size=30),
    st.binary(max_size=200),
    max_size=8,
)


@settings(max_examples=30)
@given(files=ZIP_FILES)
def test_a_zip_has_the_predicted_size_the_same_bytes_twice_and_every_file(
    tmp_path_factory: pytest.TempPathFactory, files: dict[str, bytes]
) -> None:
    folder = tmp_path_factory.mktemp("zip")
    paths = safe_paths(map(PurePosixPath, files), "set")
    assert len(set(paths)) == len(files)
    on_disk = {}
    for number, (path, content) in enumerate(zip(paths, files.values(), strict=True)):
        on_disk[path] = folder / str(number)
        on_disk[path].write_bytes(content)
    packed = zip_bytes(on_disk)
    sizes = dict(zip(paths, map(len, files.values()), strict=True))
    assert len(packed) == predicted_zip_bytes(sizes)
    assert packed == zip_bytes(on_disk)
    with zipfile.ZipFile(BytesIO(packed)) as archive:
        assert archive.testzip() is None
        assert archive.namelist() == paths
        assert [archive.read(path) for path in paths] == list(files.values())


def safe(*paths: str) -> list[str]:
    return safe_paths(map(PurePosixPath, paths), "set")


@pytest.mark.parametrize(
    ("path", "name"),
    [
        ("F-major/D/01-060-listen.mp3", "F-major/D/01-060-listen.mp3"),
        ("Übung/名.mp3", "Übung/名.mp3"),
        ("A\u0308.txt", "Ä.txt"),
        ("../../etc/passwd", "etc/passwd"),
        ("/etc/passwd", "-/etc/passwd"),
        ("con/aux.mp3", "_con/_aux.mp3"),
        ("NUL", "_NUL"),
        ("com0.mp3", "_com0.mp3"),
        ("LPT9", "_LPT9"),
        ("com10.mp3", "com10.mp3"),
        ("console.mp3", "console.mp3"),
        ("ends. /x", "ends/x"),
        ("dots...", "dots"),
        ("..hidden", "..hidden"),
        (" a .mp3", "a .mp3"),
        ("...", "-"),
        ("x" * 116 + ".mp3", "x" * 116 + ".mp3"),
        ("x" * 117 + ".mp3", "x" * 116 + ".mp3"),
        ("x" * 120, "x" * 120),
        ("x" * 121, "x" * 120),
    ],
)
def test_a_name_in_a_zip_is_one_that_every_system_takes(path: str, name: str) -> None:
    assert safe(path) == [f"set/{name}"]


@pytest.mark.parametrize("sign", '<>:"\\|?*\t\x00\x01\x1f\x7f')
def test_a_sign_that_some_system_forbids_becomes_a_hyphen(sign: str) -> None:
    """Microsoft, "Naming Files, Paths, and Namespaces"."""
    assert safe(f"a{sign}b{sign}c.mp3") == ["set/a-b-c.mp3"]


def test_a_packed_file_has_no_time_and_is_for_everybody_to_read(tmp_path: Path) -> None:
    """Whatever the machine: Unix is 3 (APPNOTE 4.4.2.2), 1980 the earliest year that a zip has."""
    (tmp_path / "a").write_bytes(b"a")
    with zipfile.ZipFile(BytesIO(zip_bytes({"a": tmp_path / "a"}))) as archive:
        (packed,) = archive.infolist()
    assert packed.date_time == (1980, 1, 1, 0, 0, 0)
    assert (packed.create_system, oct(packed.external_attr >> 16)) == (3, "0o100644")
    assert packed.compress_type == zipfile.ZIP_STORED


@pytest.mark.parametrize(
    ("paths", "names"),
    [
        (("a.mp3", "A.mp3"), ["a.mp3", "A-2.mp3"]),
        (("A.mp3", "a.mp3", "a.MP3"), ["A.mp3", "a-2.mp3", "a-3.MP3"]),
        (("a.mp3", "a.mp3"), ["a.mp3", "a-2.mp3"]),
        (("Key/a.mp3", "key/a.mp3"), ["Key/a.mp3", "key/a-2.mp3"]),
        (("a-2.mp3", "a.mp3", "a.mp3"), ["a-2.mp3", "a.mp3", "a-3.mp3"]),
        (("plain", "PLAIN", "plain"), ["plain", "PLAIN-2", "plain-3"]),
        (("Straße.txt", "STRASSE.txt"), ["Straße.txt", "STRASSE-2.txt"]),
    ],
)
def test_names_that_differ_in_case_only_are_held_apart_by_a_number(
    paths: tuple[str, ...], names: list[str]
) -> None:
    assert safe(*paths) == [f"set/{name}" for name in names]
