"""What of a folder goes into a mail, and what stands in the way of it."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from mailfolder import composed, folder_of, write_manifest

from playalong.folder.manifest import ManifestError
from playalong.mail.contents import Choice, ContentsError, read_contents


def test_read_me_sheet_tracks_and_session_go_along_and_midi_only_when_asked(tmp_path: Path) -> None:
    out = folder_of(tmp_path, [100, 100], sheet=100, session=100)
    (mail,) = composed(out).mails
    assert [each.name for each in mail.letter.attachments] == [
        "read-me-first.txt", "sheet.pdf", "F-major-D-01-061-listen.mp3",
        "F-major-D-02-062-listen.mp3", "F-major-D-session.mp3",
    ]  # fmt: skip
    (mail,) = composed(out, choice=Choice(midi=True)).mails
    assert "F-major-D-01-061-listen.mid" in [each.name for each in mail.letter.attachments]


def test_an_item_lasts_as_long_as_its_sound(tmp_path: Path) -> None:
    contents = read_contents(folder_of(tmp_path, [12_000], sheet=1, session=1), Choice(midi=True))
    assert [(item.kind, item.seconds) for item in (*contents.items, *contents.sessions)] == [
        ("sheet", 0), ("track", 1), ("midi", 1), ("session", 60),
    ]  # fmt: skip


def test_filters_choose_tracks_and_leave_sessions_of_all_of_them_out(tmp_path: Path) -> None:
    out = folder_of(tmp_path, [100, 100, 100], session=100)
    chosen = read_contents(out, Choice(bpms=(62,)))
    assert [item.track.bpm for item in chosen.items if item.track] == [62]
    assert not chosen.sessions
    assert read_contents(out, Choice(keys=("F major",), strings=("D",))).sessions
    assert read_contents(out, Choice(bpms=(62,), sessions=True)).sessions


def test_the_page_goes_with_all_tracks_and_the_sound_that_it_reads_or_not_at_all(
    tmp_path: Path,
) -> None:
    """Stems where a track has them, else the track; an older folder has no such sound."""
    out = folder_of(tmp_path, [100, 100, 100])
    data = json.loads((out / "manifest.json").read_text())
    first, second, _older = data["tracks"]
    first["stems"] = {"guide": first["audio"].replace(".mp3", ".guide.mp3")}
    sounds = [f"page/{name}.css" for name in (first["stems"]["guide"], second["audio"])]
    for name in sounds:
        (out / name).parent.mkdir(parents=True, exist_ok=True)
        (out / name).write_bytes(b"sound")
    (out / "index.html").write_text("")
    hashes = dict.fromkeys(sounds, "")
    write_manifest(out, **data | {"sheet": {"page": "index.html"}, "sha256": hashes})
    whole = read_contents(out, Choice(page=True))
    assert [item.kind for item in whole.items] == ["page", "track", "track", "track"]
    assert [str(item.listed) for item in whole.page_sounds] == sounds
    assert not whole.remarks
    part = read_contents(out, Choice(page=True, bpms=(61,)))
    assert [item.kind for item in part.items] == ["track"]
    assert part.remarks == (
        "index.html is not in the zip, because it offers tracks that were not asked for",
    )
    assert not part.page_sounds
    assert [item.kind for item in read_contents(out, Choice()).items] == ["track"] * 3
    assert not read_contents(out, Choice()).page_sounds


@pytest.mark.parametrize(
    ("choice", "said"),
    [
        (Choice(keys=("G major",)), '--key: no track here has "G major"; .*"F major"'),
        (Choice(strings=("A",)), '--string: no track here has "A"'),
        (Choice(stages=("lisen",)), 'did you mean "listen"'),
        (Choice(bpms=(99,)), '--bpm: no track here has "99"'),
    ],
)
def test_a_filter_that_nothing_passes_offers_what_is_there(
    tmp_path: Path, choice: Choice, said: str
) -> None:
    with pytest.raises(ContentsError, match=said):
        read_contents(folder_of(tmp_path, [100]), choice)


def test_filters_that_no_track_passes_together_are_told(tmp_path: Path) -> None:
    out = folder_of(tmp_path, [100])
    data = json.loads((out / "manifest.json").read_text())
    (track,) = data["tracks"]
    write_manifest(out, **data | {"tracks": [track, track | {"bpm": 99, "stage": "alone"}]})
    with pytest.raises(ContentsError, match="is all of what was asked for together"):
        read_contents(out, Choice(bpms=(99,), stages=("listen",)))


def test_a_folder_without_a_manifest_is_refused(tmp_path: Path) -> None:
    with pytest.raises(ManifestError, match=r"holds no manifest\.json; name the folder"):
        read_contents(tmp_path, Choice())


def test_a_file_in_place_of_a_folder_is_told(tmp_path: Path) -> None:
    (tmp_path / "drill.toml").write_text("")
    with pytest.raises(ContentsError, match=r"is a file; name the folder .* or add --pupils"):
        read_contents(tmp_path / "drill.toml", Choice())


def test_a_missing_file_is_an_error_not_a_gap(tmp_path: Path) -> None:
    out = folder_of(tmp_path, [100, 100])
    (out / "F-major/D/02-062-listen.mp3").unlink()
    with pytest.raises(ContentsError, match=r"02-062-listen\.mp3 is missing; make the folder"):
        read_contents(out, Choice())


@pytest.mark.parametrize(
    "name", ["../secret.mp3", "/etc/hostname", "link.mp3", "in/secret.mp3", "a\\..\\b.mp3", "a\0b"]
)
def test_a_manifest_cannot_reach_outside_its_folder(tmp_path: Path, name: str) -> None:
    (tmp_path / "secret.mp3").write_bytes(b"secret")
    out = folder_of(tmp_path / "out", [100])
    (out / "link.mp3").symlink_to(tmp_path / "secret.mp3")
    (out / "in").symlink_to(tmp_path)
    data = json.loads((out / "manifest.json").read_text())
    data["tracks"][0]["audio"] = name
    write_manifest(out, **data)
    with pytest.raises(ContentsError, match="which lies outside the folder"):
        read_contents(out, Choice())
