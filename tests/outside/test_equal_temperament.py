"""Frequencies against printed tables. Tolerances are half the last printed digit.

CRC: CRC Handbook of Chemistry and Physics, section 14, musical scales. MTU: Michigan Tech
table of note frequencies. MIDI: MIDI 1.0 specification 98.1, tuning section. OEIS: A329207.
"""

import pytest

from playalong.instrument.catalogue import INSTRUMENTS
from playalong.music.key import parse_key
from playalong.music.pitch import Pitch
from playalong.music.temperament import Tuning, cents

C_MAJOR = parse_key("C major")


def equal_hz(name: str, a4_hz: float = 440.0) -> float:
    return Tuning(a4_hz).hz(Pitch.of(name), C_MAJOR)


def test_a4_is_440_hz_exactly() -> None:
    """ISO 16:1975."""
    assert equal_hz("A4") == 440.0


@pytest.mark.parametrize(
    ("name", "hz", "half_digit"),
    [
        pytest.param("C4", 261.63, 0.005, id="CRC C4"),
        pytest.param("D4", 293.66, 0.005, id="CRC D4"),
        pytest.param("E4", 329.63, 0.005, id="CRC E4"),
        pytest.param("C2", 65.406, 0.0005, id="CRC C2"),
        pytest.param("D2", 73.416, 0.0005, id="CRC D2"),
        pytest.param("E2", 82.407, 0.0005, id="CRC E2"),
        pytest.param("C0", 16.352, 0.0005, id="CRC C0"),
        pytest.param("C4", 261.6256, 0.00005, id="MIDI C4"),
        pytest.param("C#4", 277.1826, 0.00005, id="MIDI C#4"),
        pytest.param("C0", 16.3516, 0.00005, id="MIDI C0"),
        pytest.param("C9", 8372.0181, 0.00005, id="MIDI C9"),
        pytest.param("G9", 12543.8540, 0.00005, id="MIDI G9"),
        pytest.param("C4", 261.6255653005986, 0.5e-13, id="OEIS A329207 C4"),
    ],
)
def test_equal_temperament_matches_the_printed_tables(
    name: str, hz: float, half_digit: float
) -> None:
    assert equal_hz(name) == pytest.approx(hz, abs=half_digit, rel=0)


@pytest.mark.parametrize(("a4_hz", "printed"), [(442, 7.851), (443, 11.764), (415, -101.271)])
def test_another_a4_moves_every_pitch_by_the_same_cents(a4_hz: float, printed: float) -> None:
    """From the ratio to 440."""
    for name in ("C2", "A4", "F#6"):
        moved = cents(equal_hz(name, a4_hz), equal_hz(name))
        assert moved == pytest.approx(printed, abs=0.0005)


OPEN_STRINGS = {  # highest string first; MTU table, two printed decimals
    "violin": (659.26, 440.00, 293.66, 196.00),
    "viola": (440.00, 293.66, 196.00, 130.81),
    "cello": (220.00, 146.83, 98.00, 65.41),
    "bass": (98.00, 73.42, 55.00, 41.20),
}
OPEN_STRING_KEYS = {
    "violin": (76, 69, 62, 55),
    "viola": (69, 62, 55, 48),
    "cello": (57, 50, 43, 36),
    "bass": (43, 38, 33, 28),
}


@pytest.mark.parametrize("name", OPEN_STRINGS)
def test_open_strings_sound_as_the_frequency_table_prints_them(name: str) -> None:
    for string, hz in zip(INSTRUMENTS[name].strings, OPEN_STRINGS[name], strict=True):
        assert Tuning().open_hz(string) == pytest.approx(hz, abs=0.005)


@pytest.mark.parametrize("name", OPEN_STRING_KEYS)
def test_open_strings_have_the_midi_keys_of_their_tunings(name: str) -> None:
    """Hyperphysics (bass), music21 stringPitches (all four)."""
    keys = tuple(string.key_number for string in INSTRUMENTS[name].strings)
    assert keys == OPEN_STRING_KEYS[name]


@pytest.mark.parametrize("temperament", ["pythagorean", "just"])
@pytest.mark.parametrize(
    ("string", "hz", "from_equal_cents"),
    [
        ("E5", 660.0, 1.955),
        ("A4", 440.0, 0.0),
        ("D4", 293.3333, -1.955),
        ("G3", 195.5556, -3.910),
        ("C3", 130.3704, -5.865),
        ("C2", 65.1852, -5.865),
    ],
)
def test_open_strings_stand_in_pure_fifths_from_a(
    temperament: str, string: str, hz: float, from_equal_cents: float
) -> None:
    """Computed from 3/2; 195.6, 130.4 and 65.2 are also printed in jaymaron.com's string table."""
    sounds = Tuning(440.0, temperament).open_hz(Pitch.of(string))
    assert sounds == pytest.approx(hz, abs=0.00005)
    assert cents(sounds, equal_hz(string)) == pytest.approx(from_equal_cents, abs=0.0005)


def test_a_bass_sounds_an_octave_below_what_it_reads() -> None:
    """music21 transposition P-8; written E2 (key 40) sounds E1 (key 28)."""
    bass = INSTRUMENTS["bass"]
    assert bass.transposition.semitones == -12
    assert bass.strings[-1].key_number == 40 - 12
