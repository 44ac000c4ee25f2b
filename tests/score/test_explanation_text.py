"""explain in words: every line of its text, worked out by hand.

A violin's D string of 328 mm in C major unless a test says otherwise. Its places in mm: E4 35.79,
F4 52.19, G4 82.28, A4 109.09, B4 132.97, computed as x = L (1 - 2^(-n/12)) for n semitones.
"""

from __future__ import annotations

import pytest
from explained import drill_text, printed

ONE_PASS = "passes = 1"
NEW_LEADS = 'slide.lead = "new finger"'


def test_the_text_sets_a_stand_of_the_hand_on_a_line_and_each_shift_below() -> None:
    """Every line of it, on a viola of 375 mm: E4 40.91, F4 59.66, G4 94.07, A4 124.72 mm."""
    text = drill_text(
        "1 2 3 1 p3: 1 2 p1: 2 1", 'keys = ["F major"]', "climb = 1", instrument="viola"
    )
    assert (
        printed(text)
        == """\
Try: viola, D string, F major, 4/4

bar 1
  D string, position 1   E4 (1) - half step - F4 (2) - whole step - G4 (3) - minor third - E4 (1)
    -> shift to position 3, same finger: finger 1 E4 to G4, minor third up, the hand travels 53 mm
  D string, position 3   G4 (1) - whole step - A4 (2)
    -> shift to position 1, same finger: finger 2 A4 to F4, major third down, \
the hand travels 53 mm, finger 2 65 mm
  D string, position 1   F4 (2) - half step - E4 (1)

open strings
  all are notes of the key, at its pitch
"""
    )


def lines(bar: str, *settings: str, instrument: str = "violin", words: tuple[str, ...] = ()) -> str:
    return printed(drill_text(bar, *settings, instrument=instrument), *words)


@pytest.mark.parametrize(
    ("bar", "setting", "line"),
    [
        (
            "1*4 p3: 3*4",
            "",
            "shift to position 3, old finger leads: finger 1 E4 to G4, minor third up, "
            "ghost note G4, the hand travels 46 mm",
        ),
        (
            "1*4 p3: 3*4",
            NEW_LEADS,
            "shift to position 3, new finger leads: finger 3 G4 to B4, major third up, "
            "ghost note G4, the hand travels 46 mm, finger 3 51 mm",
        ),
        (
            "2*4 p3: 1*4",
            "",
            "shift to position 3, exchange: F4 to G4, whole step up, "
            "ghost note A4 (not sounded), the hand travels 46 mm, the slide 30 mm",
        ),
        (
            "3*4 p3: 1*4",
            "",
            "shift to position 3, substitution: finger 1 E4 to G4, minor third up, "
            "the hand travels 46 mm",
        ),
        (
            "1*2 0*2 p3: 1*4",
            "",
            "shift to position 3, unheard: finger 1 E4 to G4, minor third up, "
            "the hand travels 46 mm",
        ),
        ("1*4 ~3*4", "", "slide: E4 to G4, minor third up, along the string 46 mm"),
        ("3*4 ~1*4", "", "slide: G4 to E4, minor third down, along the string 46 mm"),
    ],
)
def test_a_shift_in_words(bar: str, setting: str, line: str) -> None:
    assert f"\n    -> {line}\n" in lines(bar, ONE_PASS, setting)


def test_a_half_step_slide_in_words_is_no_shift() -> None:
    text = lines("2*4 2#*4", ONE_PASS)
    assert "\n    -> half-step slide: finger 2 F4 to F#4, augmented unison up" in text
    assert "shift to" not in text


def test_a_slide_without_a_string_has_no_millimetres_in_words() -> None:
    text = lines("C5*4 ~E5*4", ONE_PASS, instrument="flute")
    assert text.splitlines() == [
        "Try: flute, C major, 4/4",
        "",
        "bar 1",
        f"  {'':<22} C5",
        "    -> slide: C5 to E5, major third up",
        f"  {'':<22} E5",
    ]


def test_open_strings_and_half_position_in_words() -> None:
    text = lines("G: 0*2 p0: 1*2 2*2 0*2", ONE_PASS)
    assert "  G string               G3 (open) - augmented unison - G#3 (1)" in text
    assert "  G string, position 0   G#3 (1)" in lines("G: p0: 1*4 2*4", ONE_PASS)


def test_the_way_back_in_words() -> None:
    text = lines("1*4 p3: 1*4", "climb = 2")
    assert (
        """
back to the beginning, for the next pass
  bar 1: shift to position 1, same finger: finger 1 G4 to E4, minor third down, \
the hand travels 46 mm
  bar 2: shift to position 2, same finger: finger 1 A4 to F4, major third down, \
the hand travels 57 mm

open strings
"""
        in text
    )
    assert "back to the start" not in lines("1*4 p3: 1*4", ONE_PASS)


@pytest.mark.parametrize(
    ("temperament", "key", "words"),
    [
        ("equal", "C major", ["all are notes of the key, at its pitch"]),
        (
            "just",
            "C major",
            [
                "open E stands 21.5 cents above the key's E",
                "open A stands 21.5 cents above the key's A",
            ],
        ),
        ("just", "A minor", ["open G stands 21.5 cents below the key's G"]),
        ("equal", "Bb major", ["open E is not in the key, which has Eb"]),
        (
            "equal",
            "E major",
            ["open D is not in the key, which has D#", "open G is not in the key, which has G#"],
        ),
    ],
)
def test_open_strings_in_words(temperament: str, key: str, words: list[str]) -> None:
    text = lines("1*8", f'tuning.temperament = "{temperament}"', f'keys = ["{key}"]')
    _, _, after = text.partition("\nopen strings\n")
    assert after.splitlines() == [f"  {each}" for each in words]


@pytest.mark.parametrize(
    ("climb", "heading"),
    [
        ([1, 8], "bar 2: as bar 1, an octave higher"),
        ([8, 1], "bar 2: as bar 1, an octave lower"),
        ([1, 15], "bar 2: as bar 1, 2 octaves higher"),
        ([1, 2], "bar 2"),
    ],
)
def test_twins_in_words(climb: list[int], heading: str) -> None:
    assert f"\n\n{heading}\n" in lines("G: 1*8", f"climb = {climb}")


def test_warnings_and_what_is_left_out_close_the_text() -> None:
    text = lines("1# 2 3 4 1*4", "climb = 2", words=("--positions", "1-1"))
    assert text.endswith(
        """
warnings
  bar 1, position 1 on the D string: finger 2 (F4) does not sound above finger 1 (E#4)

left out
  the starting position that reaches position 2 is left out
"""
    )


def test_several_keys_stand_apart_by_an_empty_line() -> None:
    text = lines("1*8", 'keys = ["C major", "G major"]')
    assert (
        "\n  all are notes of the key, at its pitch\n\nTry: violin, D string, G major, 4/4\n"
        in text
    )
