"""Names within a zip: safe and distinct on every system, also where case does not count."""

from __future__ import annotations

from pathlib import PurePosixPath

import pytest

from playalong.mail.zip import LONGEST, safe_paths


def safe(*places: str) -> list[str]:
    return safe_paths((PurePosixPath(place) for place in places), "drill")


@pytest.mark.parametrize(
    ("places", "names"),
    [
        (("a/one.mp3",), ["drill/a/one.mp3"]),
        (("a.mp3", "A.mp3"), ["drill/a.mp3", "drill/A-2.mp3"]),
        (("A.mp3", "a.mp3", "a.MP3"), ["drill/A.mp3", "drill/a-2.mp3", "drill/a-3.MP3"]),
        (("a.mp3", "a.mp3"), ["drill/a.mp3", "drill/a-2.mp3"]),
        (("Key/a.mp3", "key/a.mp3"), ["drill/Key/a.mp3", "drill/key/a-2.mp3"]),
        (("a-2.mp3", "a.mp3", "a.mp3"), ["drill/a-2.mp3", "drill/a.mp3", "drill/a-3.mp3"]),
        (("plain", "PLAIN"), ["drill/plain", "drill/PLAIN-2"]),
        (("Straße.txt", "STRASSE.txt"), ["drill/Straße.txt", "drill/STRASSE-2.txt"]),
    ],
)
def test_names_that_differ_in_case_only_are_told_apart_by_a_number(
    places: tuple[str, ...], names: list[str]
) -> None:
    assert safe(*places) == names


@pytest.mark.parametrize(
    ("place", "name"),
    [
        ("con.txt", "_con.txt"),
        ("NUL", "_NUL"),
        ("com1.mp3", "_com1.mp3"),
        ("com10.mp3", "com10.mp3"),
        ("console.txt", "console.txt"),
        ('a<b>c:d"e|f?g*h.txt', "a-b-c-d-e-f-g-h.txt"),
        ("back\\slash.txt", "back-slash.txt"),
        ("tab\there.txt", "tab-here.txt"),
        ("dots...", "dots"),
        ("../up.txt", "up.txt"),
        ("A\u0308.txt", "Ä.txt"),
        ("..hidden", "..hidden"),
    ],
)
def test_a_name_is_one_that_every_system_takes(place: str, name: str) -> None:
    assert safe(place) == [f"drill/{name}"]


def test_a_long_name_is_cut_before_its_ending() -> None:
    for length in (LONGEST - 4, LONGEST + 40):
        (name,) = safe("x" * length + ".mp3")
        assert name == f"drill/{'x' * (LONGEST - 4)}.mp3"
    (name,) = safe("x" * (LONGEST + 40))
    assert name == f"drill/{'x' * LONGEST}"
