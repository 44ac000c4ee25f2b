"""Names of files and folders: safe on every system, distinct where they must be."""

from __future__ import annotations

import re
from pathlib import PurePosixPath

import pytest
from hypothesis import given
from hypothesis import strategies as st

from playalong.folder.names import (
    LONGEST,
    MEDIA_TYPES,
    AudioFormat,
    TrackFiles,
    key_folder,
    media_type,
    safe_name,
    string_folder,
    track_name,
)
from playalong.music.key import ALL_KEYS, parse_key

# Names that Windows keeps for devices (Microsoft, "Naming Files, Paths, and Namespaces")
RESERVED = {"con", "prn", "aux", "nul", *(f"{d}{n}" for d in ("com", "lpt") for n in range(10))}


def check_safe(name: str) -> None:
    assert name
    assert not re.search(r'[<>:"/\\|?*.\s\x00-\x1f\x7f]', name)
    assert name[0] != "-"
    assert name[-1] != "-"
    assert name.casefold() not in RESERVED
    assert len(name) <= LONGEST + len("-drill")
    assert len(name.encode()) <= 190  # of the 255 bytes that a file system gives a name
    assert name.isprintable()


@given(st.text(max_size=400))
def test_any_text_becomes_a_safe_name(text: str) -> None:
    check_safe(safe_name(text))


@pytest.mark.parametrize(
    ("title", "name"),
    [
        ("First to third on the D string", "first-to-third-on-the-d-string"),
        ("Übung Nr. 3", "ubung-nr-3"),
        ("1/2 position: A\\B", "1-2-position-a-b"),
        ("../../etc/passwd", "etc-passwd"),
        ("...", "drill"),
        ("", "drill"),
        ("con", "con-drill"),
        ("COM1", "com1-drill"),
        ("lpt9", "lpt9-drill"),
        ("com0", "com0-drill"),
        ("com10", "com10"),
        ("console", "console"),
        ("COM¹", "com1-drill"),
        ("aux.txt", "aux-txt"),
        ("B♭ and F♯", "b-flat-and-f-sharp"),
        ("練習 一", "練習-一"),
        ("한글", "한글"),
        ("a\tb\nc\x00d", "a-b-c-d"),
        ("  --  ", "drill"),
        ("Straße", "strasse"),
    ],
)
def test_a_title_keeps_its_letters_and_loses_the_rest(title: str, name: str) -> None:
    assert safe_name(title) == name


@pytest.mark.parametrize(("letter", "most"), [("a", 60), ("é", 60), ("練", 60), ("𠀀", 45)])
def test_a_name_has_60_characters_and_180_bytes_at_most(letter: str, most: int) -> None:
    """At the limit all of them stay, beyond it what is over falls away."""
    plain = safe_name(letter)
    assert safe_name(letter * most) == plain * most
    assert safe_name(letter * (most + 1)) == plain * most


@pytest.mark.parametrize("name", sorted(RESERVED))
def test_no_name_is_a_device(name: str) -> None:
    assert safe_name(name.upper(), "set") == f"{name}-set"
    assert safe_name(f"{name}x", "set") == f"{name}x"


@pytest.mark.parametrize(
    "letter", ["a", "é", "練", "𝒜", "😀", "a-", "𠀀", "𠀀 ", "𠀀𠀀 ", "𠀀𠀀𠀀 "]
)
def test_three_hundred_characters_are_cut(letter: str) -> None:
    check_safe(safe_name((letter * 300)[:300]))


def test_a_cut_leaves_no_hyphen_at_the_end() -> None:
    assert safe_name("x" * 59 + " yes") == "x" * 59
    assert safe_name("x" * 58 + " yes") == "x" * 58 + "-y"


def test_a_key_folder_spells_its_accidental() -> None:
    assert key_folder(parse_key("Bb major")) == "B-flat-major"
    assert key_folder(parse_key("F# harmonic minor")) == "F-sharp-harmonic-minor"
    assert key_folder(parse_key("C minor")) == "C-minor"


def test_every_key_has_a_folder_of_its_own_even_where_case_does_not_count() -> None:
    folders = {key_folder(key).casefold() for key in ALL_KEYS}
    assert len(folders) == len(ALL_KEYS)
    for folder in folders:
        check_safe(folder)


def test_a_drill_over_several_strings_or_in_pitches_lies_in_all() -> None:
    assert string_folder("D") == "D"
    assert string_folder(None) == "all"


def test_a_track_is_named_by_number_tempo_and_stage() -> None:
    assert track_name(1, 8, 60, "listen") == "01-060-listen"
    assert track_name(7, 120, 208, "Slow bow / 2") == "007-208-slow-bow-2"
    assert track_name(2, 8, 60, "___") == "02-060-stage"


@pytest.mark.parametrize(
    ("total", "first"), [(1, "01"), (9, "01"), (10, "01"), (99, "01"), (100, "001"), (1000, "0001")]
)
def test_a_track_number_has_as_many_digits_as_the_last_one_and_at_least_two(
    total: int, first: str
) -> None:
    assert track_name(1, total, 60, "listen") == f"{first}-060-listen"


def test_the_files_of_a_track_stand_beside_each_other() -> None:
    track = PurePosixPath("F-major/D/01-060-listen")
    files = TrackFiles.of(track, ".flac", ("guide", "drone", "click"))
    assert files == TrackFiles(
        "F-major/D/01-060-listen.flac",
        "F-major/D/01-060-listen.mid",
        "F-major/D/01-060-listen.timeline.json",
        {
            "guide": "F-major/D/01-060-listen.guide.flac",
            "drone": "F-major/D/01-060-listen.drone.flac",
            "click": "F-major/D/01-060-listen.click.flac",
        },
    )
    assert files.names == (files.audio, files.midi, files.timeline, *files.stems.values())
    assert TrackFiles.of(track, ".mp3", ()).stems == {}


@pytest.mark.parametrize("format", AudioFormat)
def test_every_kind_of_audio_file_ends_in_its_name_and_has_a_media_type(
    format: AudioFormat,
) -> None:
    assert format.ending == f".{format.value}"
    assert MEDIA_TYPES[format.ending].startswith("audio/")


@pytest.mark.parametrize(
    ("name", "kind"),
    [
        ("index.html", "text/html"),
        ("a.MP3", "audio/mpeg"),
        ("F-major/D/01-060-listen.guide.opus", "audio/ogg"),
        ("read-me-first.txt", "text/plain"),
        ("a", "application/octet-stream"),
        ("a.timeline.json", "application/octet-stream"),
    ],
)
def test_a_name_tells_the_kind_of_file(name: str, kind: str) -> None:
    assert media_type(name) == kind


@given(st.lists(st.integers(1, 1200), min_size=2, max_size=20, unique=True))
def test_tracks_sort_by_number_and_never_share_a_name(numbers: list[int]) -> None:
    stems = [track_name(number, max(numbers), 60, "listen") for number in sorted(numbers)]
    assert stems == sorted(set(stems))
