"""Key signatures and spelling.

Gardner, Essentials of Music Theory (bitlit.ru), and siennasguidetomusic.com for signatures,
their order and the whole and half steps; music21 and mido agree on all thirty.
"""

from itertools import pairwise

import pytest

from playalong.music.key import ALL_KEYS, MODES, Key, parse_key
from playalong.music.pitch import LETTERS, Pitch

MAJOR = ["Cb", "Gb", "Db", "Ab", "Eb", "Bb", "F", "C", "G", "D", "A", "E", "B", "F#", "C#"]
MINOR = ["Ab", "Eb", "Bb", "F", "C", "G", "D", "A", "E", "B", "F#", "C#", "G#", "D#", "A#"]
SHARPS, FLATS = "FCGDAEB", "BEADGCF"
THIRTY = [f"{tonic} major" for tonic in MAJOR] + [f"{tonic} minor" for tonic in MINOR]


def scale(key: Key) -> list[Pitch]:
    return [key.pitch(28 + key.letter + step) for step in range(8)]


@pytest.mark.parametrize("mode", ["major", "minor"])
def test_the_thirty_keys_have_their_signatures(mode: str) -> None:
    tonics = MAJOR if mode == "major" else MINOR
    found = [parse_key(f"{tonic} {mode}").signature for tonic in tonics]
    assert found == list(range(-7, 8))


def test_every_mode_has_fifteen_keys_one_for_each_signature() -> None:
    assert sorted(key.name for key in ALL_KEYS if key.mode in ("major", "minor")) == sorted(THIRTY)
    for mode in MODES:
        signatures = [key.signature for key in ALL_KEYS if key.mode == mode]
        assert sorted(signatures) == list(range(-7, 8))


@pytest.mark.parametrize("name", THIRTY)
def test_sharps_and_flats_enter_in_their_order(name: str) -> None:
    key = parse_key(name)
    sign = 1 if key.signature > 0 else -1
    altered = (SHARPS if sign > 0 else FLATS)[: abs(key.signature)]
    for number, letter in enumerate(LETTERS):
        assert key.alteration(number) == (sign if letter in altered else 0)


@pytest.mark.parametrize("name", THIRTY)
def test_a_scale_has_each_letter_once_and_the_steps_of_its_mode(name: str) -> None:
    """Major W W H W W W H, natural minor W H W W H W W."""
    key = parse_key(name)
    notes = scale(key)
    steps = [high.key_number - low.key_number for low, high in pairwise(notes)]
    assert sorted(note.letter for note in notes[:7]) == list(range(7))
    assert steps == ([2, 2, 1, 2, 2, 2, 1] if name.endswith("major") else [2, 1, 2, 2, 1, 2, 2])
    assert notes[0] == Pitch(28 + key.letter, key.alter)


def test_harmonic_minor_raises_the_seventh_only() -> None:
    """Common practice: W H W W H and a step and a half, H."""
    for tonic in MINOR:
        plain, raised = parse_key(f"{tonic} minor"), parse_key(f"{tonic} harmonic minor")
        assert raised.signature == plain.signature
        steps = [b.key_number - a.key_number for a, b in pairwise(scale(raised))]
        assert steps == [2, 1, 2, 2, 1, 3, 1]


def test_relative_keys_share_a_signature_three_semitones_apart() -> None:
    for major, minor in zip(MAJOR, MINOR, strict=True):
        one, two = parse_key(f"{major} major"), parse_key(f"{minor} minor")
        assert one.signature == two.signature
        apart = Pitch(28 + one.letter, one.alter).key_number
        apart -= Pitch(28 + two.letter, two.alter).key_number
        assert apart % 12 == 3


def test_tonics_follow_from_the_last_accidental() -> None:
    """Sharp keys: a half step above the last sharp; flat keys: the last flat but one."""
    for number in range(1, 8):
        key = parse_key(f"{MAJOR[7 + number]} major")
        last = LETTERS.index(SHARPS[number - 1])
        assert Pitch(key.letter + 28, key.alter).key_number % 12 == (
            (Pitch(last + 28, 1).key_number + 1) % 12
        )
    for number in range(2, 8):
        key = parse_key(f"{MAJOR[7 - number]} major")
        assert (LETTERS[key.letter], key.alter) == (
            FLATS[number - 2],
            -1 if FLATS[number - 2] in FLATS[:number] else 0,
        )


def test_natural_and_altered_keys_of_a_letter_differ_by_seven() -> None:
    assert parse_key("B major").signature - parse_key("Bb major").signature == 7


@pytest.mark.parametrize(
    ("name", "fifths"), [("F", -1), ("C", 0), ("G", 1), ("D", 2), ("A", 3), ("E", 4), ("B", 5)]
)
def test_letters_stand_on_the_line_of_fifths(name: str, fifths: int) -> None:
    for sign, alter in (("", 0), ("#", 1), ("b", -1), ("##", 2), ("bb", -2)):
        pitch = Pitch.of(f"{name}{sign}4")
        assert pitch.fifths == fifths + 7 * alter
        assert pitch.key_number % 12 == (7 * pitch.fifths) % 12


@pytest.mark.parametrize(
    ("name", "key_number"), [("C4", 60), ("B#3", 60), ("Cb4", 59), ("B3", 59), ("G9", 127)]
)
def test_the_octave_number_changes_between_b_and_c(name: str, key_number: int) -> None:
    """Common practice; MusicXML 4.0: octave 4 starts at middle C."""
    assert Pitch.of(name).key_number == key_number


def test_an_augmented_third_is_not_a_fourth() -> None:
    """Common practice: C to E sharp and C to F sound alike and are not the same."""
    e_sharp, f = Pitch.of("E#4"), Pitch.of("F4")
    assert e_sharp.key_number == f.key_number
    assert e_sharp != f
