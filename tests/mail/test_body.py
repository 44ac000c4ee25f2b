"""The text of a mail: what it says of its files, and where it is cut."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path, PurePosixPath

import pytest

from playalong.folder.manifest import SessionEntry, TrackEntry
from playalong.mail.body import Body
from playalong.mail.contents import Item

TRACK = TrackEntry(1, "F major", "D", 60, "listen", 40.0, "a.mp3", "a.mid", "a.json", {}, {})
FILE = Item(Path("a"), PurePosixPath("a"), "track", 1, TRACK)


def track(number: int, bpm: int, **fields: str | None) -> Item:
    entry = TrackEntry(**{**vars(TRACK), "number": number, "bpm": bpm, **fields})
    return replace(FILE, track=entry)


def session(seconds: float, string: str | None = "D") -> Item:
    entry = SessionEntry("F major", string, seconds, "session.mp3", (), {})
    return Item(Path("s"), PurePosixPath("F-major/D/session.mp3"), "session", 1, session=entry)


def attached(*items: Item) -> list[str]:
    """The lines below "What is attached", each unwrapped."""
    text = Body("T", (), items).plain().split("What is attached\n\n")[1].split("\n\nThe stages")[0]
    return [" ".join(line.split()) for line in text.removeprefix("- ").split("\n- ")]


def test_the_tracks_of_a_key_and_string_are_one_line() -> None:
    assert attached(track(3, 60)) == ["F major, D string: track 3, at 60 beats a minute"]
    assert attached(track(1, 60), track(2, 60), track(3, 66), track(1, 60, key="G major")) == [
        "F major, D string: tracks 1 to 3, at 60 to 66 beats a minute",
        "G major, D string: track 1, at 60 beats a minute",
    ]
    assert attached(track(1, 60, string=None)) == ["F major: track 1, at 60 beats a minute"]


@pytest.mark.parametrize(
    ("seconds", "minutes"), [(1, 1), (89, 1), (91, 2), (149, 2), (151, 3), (3600, 60)]
)
def test_a_session_says_its_minutes_and_at_least_one(seconds: float, minutes: int) -> None:
    assert attached(session(seconds)) == [
        f"F major, D string: a hands-free session of {minutes} min, with rests"
    ]
    assert attached(session(seconds, None))[0].startswith("F major: a hands-free session")


def test_single_files_come_first_and_the_rest_is_named_once() -> None:
    others = [replace(FILE, kind=kind, listed=PurePosixPath(f"x/{kind}")) for kind in (
        "midi", "midi", "page sound", "page sound", "page", "sheet", "read-me",
    )]  # fmt: skip
    assert attached(*others) == [
        "read-me: what is what, how to practise, cautions",
        "sheet: the drill to read and to print",
        "page: a page to practise from: open it in a browser",
        "page: the sound once more, as the page reads it",
        ".mid files: the same tracks for any synthesizer or sequencer",
    ]


def test_a_title_is_cut_beyond_200_characters_and_a_name_beyond_80() -> None:
    whole = Body("T" * 200, (), [], greeting="N" * 80)
    cut = Body("T" * 201, (), [], greeting="N" * 81)
    for text in (whole.plain(), whole.html()):
        assert "T" * 200 in text.replace("\n", "")
        assert f"Hello {'N' * 80}," in text.replace("\n", " ").replace("N N", "NN")
    for text in (cut.plain(), cut.html()):
        assert "T" * 199 + "…" in text.replace("\n", "")
        assert "N" * 79 + "…," in text.replace("\n", "")
    assert f"<title>{'T' * 199}…</title>" in cut.html()


def test_lines_of_plain_text_are_72_characters_at_most_and_hyphens_do_not_break() -> None:
    lines = Body("as-many-hyphens-as-may-be " * 8, ("listen",), [track(1, 60)]).plain().splitlines()
    assert max(map(len, lines)) == 72
    assert not [line for line in lines if line.endswith("-")]


def test_of_several_mails_each_says_which_it_is_and_a_zip_is_named() -> None:
    one = Body("T", (), [])
    second = Body("T", (), [], number=2, total=2, zip_name="t.zip")
    assert "This is mail" not in one.plain()
    assert "packed" not in one.plain()
    for text in (second.plain(), second.html()):
        assert "This is mail 2 of 2, because one would be too large." in " ".join(text.split())
        assert "The files are packed in t.zip: save it" in " ".join(text.split())
