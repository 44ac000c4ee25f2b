"""Names of files and folders: safe on every system, distinct where they must be."""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from playalong.folder.names import LONGEST, key_folder, safe_name, string_folder, track_name
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


@pytest.mark.parametrize(
    "letter", ["a", "é", "練", "𝒜", "😀", "a-", "𠀀", "𠀀 ", "𠀀𠀀 ", "𠀀𠀀𠀀 "]
)
def test_three_hundred_characters_are_cut(letter: str) -> None:
    check_safe(safe_name((letter * 300)[:300]))


@pytest.mark.parametrize(("length", "kept"), [(59, 59), (60, 60), (61, 60)])
def test_a_name_has_sixty_characters_at_most(length: int, kept: int) -> None:
    assert safe_name("x" * length) == "x" * kept


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


@given(st.lists(st.integers(1, 1200), min_size=2, max_size=20, unique=True))
def test_tracks_sort_by_number_and_never_share_a_name(numbers: list[int]) -> None:
    stems = [track_name(number, max(numbers), 60, "listen") for number in sorted(numbers)]
    assert stems == sorted(set(stems))
