"""The manifest says what was made, in the form that it promises."""

from __future__ import annotations

import json
from dataclasses import replace

from playalong.folder.manifest import Manifest, SessionEntry, TrackEntry

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
SESSION = SessionEntry("F major", "D", 100.0, "F-major/D/session.mp3", ((3.5000004, 1),), {})


def test_the_manifest_has_the_promised_form() -> None:
    manifest = Manifest("Übung", "drill.toml", "ab", (TRACK,), (SESSION,), ("told",))
    data = json.loads(manifest.json())
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
    assert {"key", "string", "seconds", "audio"} <= session.keys()
    assert data["left_out"] == ["told"]
    assert data["sheet"] == {}


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
