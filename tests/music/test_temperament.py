"""Temperaments: what every tuning must hold, whatever the key."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from playalong.errors import PlayalongError
from playalong.instrument.catalogue import INSTRUMENTS
from playalong.music.key import ALL_KEYS, MODES, Key, parse_key
from playalong.music.pitch import Pitch
from playalong.music.temperament import TEMPERAMENTS, Tuning, cents

KEYS = st.sampled_from(ALL_KEYS)
TUNINGS = st.builds(Tuning, st.floats(380, 480), st.sampled_from(TEMPERAMENTS))
INDEXES = st.integers(7, 55)
EXACT = 1e-9  # cents; float rounding only


@given(TUNINGS, KEYS, INDEXES, st.integers(-2, 2))
def test_an_octave_doubles_the_frequency(tuning: Tuning, key: Key, index: int, alter: int) -> None:
    low, high = (tuning.hz(Pitch(i, alter), key) for i in (index, index + 7))
    assert cents(high, low) == pytest.approx(1200, abs=EXACT)


@given(TUNINGS, KEYS, INDEXES)
def test_a_scale_rises(tuning: Tuning, key: Key, index: int) -> None:
    assert tuning.hz(key.pitch(index + 1), key) > tuning.hz(key.pitch(index), key)


@given(TUNINGS, KEYS, INDEXES, st.integers(-2, 2))
def test_no_note_strays_half_a_semitone_from_where_it_is_meant(
    tuning: Tuning, key: Key, index: int, alter: int
) -> None:
    pitch = Pitch(index, alter)
    meant = tuning.a4_hz * 2 ** ((pitch.key_number - 69) / 12)
    assert abs(cents(tuning.hz(pitch, key), meant)) < 100


@given(TUNINGS, KEYS)
def test_the_drone_has_the_very_tonic_of_the_guide(tuning: Tuning, key: Key) -> None:
    """The drone takes the lowest tonic, the guide any other: no beats between them."""
    tonic = key.tonic_at_or_above(INSTRUMENTS["violin"].lowest)
    for octave in (0, 1, 2):
        guide = key.pitch(tonic.index + 7 * octave)
        assert tuning.hz(guide, key) == pytest.approx(tuning.hz(tonic, key) * 2**octave, rel=1e-14)


@given(st.floats(380, 480), KEYS)
def test_the_just_tonic_rings_with_strings_in_pure_fifths(a4_hz: float, key: Key) -> None:
    tonic = Pitch(28 + key.letter, key.alter)
    just, pythagorean = (Tuning(a4_hz, name).hz(tonic, key) for name in TEMPERAMENTS[:0:-1])
    assert just == pythagorean


def test_a_pythagorean_sharp_is_higher_than_the_flat_beside_it() -> None:
    tuning, key = Tuning(440, "pythagorean"), parse_key("C major")
    for sharp, flat in (("C#4", "Db4"), ("F#4", "Gb4"), ("G#3", "Ab3")):
        comma = cents(tuning.hz(Pitch.of(sharp), key), tuning.hz(Pitch.of(flat), key))
        assert comma == pytest.approx(23.46, abs=0.005)


JUST_DEGREES = [  # above C, in any mode: the usual 5-limit ratios
    ("C4", 1, 1), ("Db4", 16, 15), ("C#4", 135, 128), ("D4", 9, 8), ("Eb4", 6, 5),
    ("D#4", 75, 64), ("E4", 5, 4), ("F4", 4, 3), ("F#4", 45, 32), ("Gb4", 64, 45),
    ("G4", 3, 2), ("G#4", 25, 16), ("Ab4", 8, 5), ("A4", 5, 3), ("A#4", 225, 128),
    ("Bb4", 9, 5), ("B4", 15, 8),
]  # fmt: skip


@pytest.mark.parametrize("mode", MODES)
@pytest.mark.parametrize(("name", "over", "under"), JUST_DEGREES)
def test_just_degrees_stand_at_small_ratios_above_the_tonic(
    mode: str, name: str, over: int, under: int
) -> None:
    tuning, key = Tuning(440, "just"), parse_key(f"C {mode}")
    ratio = tuning.hz(Pitch.of(name), key) / tuning.hz(Pitch.of("C4"), key)
    assert ratio == pytest.approx(over / under, rel=1e-14)


@pytest.mark.parametrize(
    ("plain", "sharper", "sharper_still"), [("C4", "C#4", "C##4"), ("D4", "D#4", "D##4"),
                                            ("Eb4", "E4", "E#4"), ("G4", "G#4", "G##4")],
)  # fmt: skip
def test_a_just_note_sharper_than_the_table_goes_on_by_the_step_from_1_to_sharp_1(
    plain: str, sharper: str, sharper_still: str
) -> None:
    """C to C sharp is 135/128, 92.179 cents, and so is every further sharp or flat."""
    tuning, key = Tuning(440, "just"), parse_key("C major")
    hz = {name: tuning.hz(Pitch.of(name), key) for name in ("C4", "C#4", sharper, sharper_still)}
    assert cents(hz["C#4"], hz["C4"]) == pytest.approx(92.179, abs=0.0005)
    assert cents(hz[sharper_still], hz[sharper]) == pytest.approx(92.179, abs=0.0005)


@pytest.mark.parametrize(("flat", "flatter"), [("C4", "Cb4"), ("Gb4", "Gbb4"), ("Db4", "Dbb4")])
def test_a_just_note_flatter_than_the_table_goes_on_by_the_same_step(
    flat: str, flatter: str
) -> None:
    tuning, key = Tuning(440, "just"), parse_key("C major")
    high, low = (tuning.hz(Pitch.of(name), key) for name in (flat, flatter))
    assert cents(high, low) == pytest.approx(92.179, abs=0.0005)


@given(TUNINGS, st.sampled_from(("A4", "D4", "G3", "C3", "E5")))
def test_an_open_string_sounds_as_tuned_whatever_the_key(tuning: Tuning, name: str) -> None:
    fifths = {"E5": 1, "A4": 0, "D4": -1, "G3": -2, "C3": -3}[name]
    pure = 1.5 if tuning.temperament != "equal" else 2 ** (7 / 12)
    assert tuning.open_hz(Pitch.of(name)) == pytest.approx(tuning.a4_hz * pure**fifths, rel=1e-13)


@pytest.mark.parametrize(
    ("a4_hz", "temperament", "match"),
    [
        (379, "equal", r"A4 = 379 Hz is outside 380 to 480 Hz"),
        (481, "equal", r"A4 = 481 Hz is outside 380 to 480 Hz"),
        (440, "pythagorian", r'"pythagorian" is not a temperament; did you mean "pythagorean"'),
    ],
)
def test_a_tuning_out_of_reason_is_refused(a4_hz: float, temperament: str, match: str) -> None:
    with pytest.raises(PlayalongError, match=match):
        Tuning(a4_hz, temperament)
