"""The manifest says what was made, in the form that it promises, and is read back or refused."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from playalong.folder.manifest import Manifest, ManifestError, SessionEntry, TrackEntry

TRACK = TrackEntry(
    number=1,
    key="F major",
    string="D",
    bpm=60,
    stage="listen",
    seconds=44.00000049,
    audio="F-major/D/01-060-listen.mp3",
    midi="F-major/D/01-060-listen.mid",
    timeline="F-major/D/01-060-listen.timeline.json",
    stems={"guide": "F-major/D/01-060-listen.guide.mp3"},
    sha256={"F-major/D/01-060-listen.mp3": "00"},
)
SESSION = SessionEntry("F major", None, 100.0, "F-major/all/session.mp3", ((3.5000004, 1),), {})
SHEET = {"pdf": "sheet.pdf", "musicxml": ["sheet.musicxml"], "page": "index.html"}
MANIFEST = Manifest("Übung", "drill.toml", "ab", (TRACK,), (SESSION,), ("told",), SHEET)


def test_the_manifest_has_the_promised_form() -> None:
    data = json.loads(MANIFEST.json())
    assert data["format"] == "playalong manifest 1"
    assert data["drill"] == {"title": "Übung", "file": "drill.toml", "sha256": "ab"}
    (track,) = data["tracks"]
    assert list(track) == [
        *("number", "key", "string", "bpm", "stage", "seconds"),
        *("audio", "midi", "timeline", "stems", "sha256"),
    ]
    assert track["seconds"] == 44.0
    assert track["stems"] == {"guide": "F-major/D/01-060-listen.guide.mp3"}
    (session,) = data["sessions"]
    assert session["parts"] == [{"from": 3.5, "track": 1}]
    assert list(session) == ["key", "string", "seconds", "audio", "parts", "sha256"]
    assert data["left_out"] == ["told"]
    assert data["sheet"] == SHEET


def test_a_person_can_read_it_line_by_line() -> None:
    assert MANIFEST.json().startswith(
        '{\n "format": "playalong manifest 1",\n "drill": {\n  "title"'
    )
    assert MANIFEST.json().endswith("\n}\n")


def test_text_in_any_script_is_written_as_it_is() -> None:
    assert "練習" in Manifest("練習", "drill.toml", "").json()


def test_seconds_are_told_to_a_millionth() -> None:
    track = replace(TRACK, seconds=44.1234564)
    session = replace(SESSION, seconds=100.7654321, parts=((3.1234567, 1), (50.0000016, 2)))
    data = Manifest("T", "drill.toml", "", (track,), (session,)).data()
    assert data["tracks"][0]["seconds"] == 44.123456
    assert data["sessions"][0]["seconds"] == 100.765432
    assert [part["from"] for part in data["sessions"][0]["parts"]] == [3.123457, 50.000002]


def test_entries_read_back_from_the_manifest_as_they_were_written() -> None:
    data = json.loads(Manifest("T", "drill.toml", "", (TRACK,), (SESSION,)).json())
    assert TrackEntry.of({**data["tracks"][0], "gain": 1.0}) == replace(TRACK, seconds=44.0)
    session = SessionEntry.of({**data["sessions"][0], "other": None})
    assert session == replace(SESSION, parts=((3.5, 1),))


def test_what_is_written_is_read_back(tmp_path: Path) -> None:
    (tmp_path / "manifest.json").write_text(MANIFEST.json(), encoding="utf-8")
    assert Manifest.read(tmp_path).data() == json.loads(MANIFEST.json())
    assert Manifest.read(tmp_path).json() == MANIFEST.json()
    assert Manifest.read(tmp_path).sessions[0].parts == ((3.5, 1),)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (None, r"holds no manifest\.json; name the folder that playalong make filled"),
        (b"{", "is not a playalong manifest 1"),
        (b"[]", "is not a playalong manifest 1"),
        (b"[" * 100_000, "is not a playalong manifest 1"),
        (b"\xff", "is not a playalong manifest 1"),
        (b'{"format": "playalong manifest 9"}', "is not a playalong manifest 1"),
    ],
    ids=lambda text: str(text)[:30],
)
def test_a_folder_without_a_manifest_is_refused(
    tmp_path: Path, text: bytes | None, said: str
) -> None:
    if text is not None:
        (tmp_path / "manifest.json").write_bytes(text)
    with pytest.raises(ManifestError, match=said):
        Manifest.read(tmp_path)


def test_a_manifest_that_cannot_be_read_says_why(tmp_path: Path) -> None:
    (tmp_path / "manifest.json").mkdir()
    with pytest.raises(ManifestError, match=r"cannot read .*manifest\.json: Is a directory"):
        Manifest.read(tmp_path)


TRACK_FIELDS = [("tracks", 0, name) for name in vars(TRACK)]
SESSION_FIELDS = [("sessions", 0, name) for name in vars(SESSION)]
PART_FIELDS = [("sessions", 0, "parts", 0, "from"), ("sessions", 0, "parts", 0, "track")]
DRILL_FIELDS = [("drill", name) for name in ("title", "file", "sha256")]
NEEDED = [("drill",), ("tracks",), ("sessions",), ("left_out",), ("sheet",), *DRILL_FIELDS]
FIELDS = [*NEEDED, *TRACK_FIELDS, *SESSION_FIELDS, *PART_FIELDS]


def refused(tmp_path: Path, field: tuple[Any, ...], value: Any, said: str) -> None:
    """A manifest with another value in a field, or without it, is refused with the way out."""
    data = json.loads(MANIFEST.json())
    inside = data
    for step in field[:-1]:
        inside = inside[step]
    inside[field[-1]] = value
    if value is None:
        del inside[field[-1]]
    (tmp_path / "manifest.json").write_text(json.dumps(data), encoding="utf-8")
    said = rf"manifest\.json {said} '{field[-1]}'; make the folder again with playalong make"
    with pytest.raises(ManifestError, match=said):
        Manifest.read(tmp_path)


@pytest.mark.parametrize("field", FIELDS, ids=str)
def test_a_missing_field_is_named(tmp_path: Path, field: tuple[Any, ...]) -> None:
    refused(tmp_path, field, None, "lacks")


@pytest.mark.parametrize("field", [*FIELDS, ("sheet", "pdf"), ("sheet", "page")], ids=str)
def test_a_field_that_holds_what_it_cannot_is_named(tmp_path: Path, field: tuple[Any, ...]) -> None:
    unfit: Any = True if field[-1] in ("key", "stage", "string") else "text"
    if field[0] == "drill" or field[-1] in ("audio", "midi", "timeline", "pdf", "page"):
        unfit = 3
    if field in (("sheet",), ("drill",)):
        unfit = []
    refused(tmp_path, field, unfit, "holds no good")


@pytest.mark.parametrize("name", ["stems", "sha256"])
def test_files_are_named_by_text(tmp_path: Path, name: str) -> None:
    refused(tmp_path, ("tracks", 0, name), {"guide": 3}, "holds no good")


def test_an_entry_that_is_no_object_is_refused(tmp_path: Path) -> None:
    text = MANIFEST.json().replace('"left_out"', '"tracks": [3], "left_out"')
    (tmp_path / "manifest.json").write_text(text, encoding="utf-8")
    with pytest.raises(ManifestError, match="lacks 'number'"):
        Manifest.read(tmp_path)
