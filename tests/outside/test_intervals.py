"""Interval sizes, scales and beat rates against published figures.

5-limit list: hawaiilibrary.net (two decimals). Scales: teoria.com (whole cents). Beat rates:
J. Neurosci. 2012;32:12251, Table 1 after Capleton 2007 (one decimal); the exact ones computed.
"""

import pytest

from playalong.music.key import parse_key
from playalong.music.pitch import Pitch
from playalong.music.temperament import JUST_RATIOS, Tuning, cents

C_MAJOR = parse_key("C major")


def tuned(temperament: str, name: str) -> float:
    return Tuning(440.0, temperament).hz(Pitch.of(name), C_MAJOR)


def size(temperament: str, low: str, high: str) -> float:
    return cents(tuned(temperament, high), tuned(temperament, low))


@pytest.mark.parametrize(
    ("low", "high", "printed"),
    [
        pytest.param("B4", "C5", 111.73, id="just diatonic semitone 16/15"),
        pytest.param("D4", "E4", 182.40, id="minor tone 10/9"),
        pytest.param("C4", "D4", 203.91, id="major tone 9/8"),
        pytest.param("Eb4", "E4", 70.67, id="chromatic semitone 25/24"),
    ],
)
def test_just_steps_have_their_5_limit_sizes(low: str, high: str, printed: float) -> None:
    assert size("just", low, high) == pytest.approx(printed, abs=0.005)


@pytest.mark.parametrize(
    ("low", "high", "computed"),
    [
        pytest.param("E4", "F4", 90.2250, id="limma 256/243"),
        pytest.param("F4", "F#4", 113.6850, id="apotome 2187/2048"),
        pytest.param("D4", "F4", 294.1350, id="minor third 32/27"),
        pytest.param("C4", "E4", 407.8200, id="major third 81/64"),
        pytest.param("C4", "F4", 498.0450, id="fourth 4/3"),
        pytest.param("C4", "G4", 701.9550, id="fifth 3/2"),
        pytest.param("C4", "A4", 905.8650, id="sixth 27/16"),
        pytest.param("C4", "Bb4", 996.0900, id="minor seventh 16/9"),
        pytest.param("C4", "B4", 1109.7750, id="major seventh 243/128"),
        pytest.param("Ab4", "G#4", 23.4600, id="Pythagorean comma 531441/524288"),
    ],
)
def test_pythagorean_intervals_have_their_sizes(low: str, high: str, computed: float) -> None:
    assert size("pythagorean", low, high) == pytest.approx(computed, abs=0.00005)


@pytest.mark.parametrize(
    ("temperament", "printed"),
    [
        ("pythagorean", (0, 204, 408, 498, 702, 906, 1110)),
        ("just", (0, 204, 386, 498, 702, 884, 1088)),
        ("equal", (0, 200, 400, 500, 700, 900, 1100)),
    ],
)
def test_the_major_scale_matches_teoria_in_whole_cents(
    temperament: str, printed: tuple[int, ...]
) -> None:
    scale = [size(temperament, "C4", f"{letter}4") for letter in "CDEFGAB"]
    assert [round(step) for step in scale] == list(printed)


@pytest.mark.parametrize(
    ("place", "computed"),
    [(4, 386.3137), (-3, 315.6413), (-4, 813.6863), (3, 884.3587), (-2, 1017.5963), (5, 1088.2687)],
)
def test_just_ratios_have_their_sizes_in_cents(place: int, computed: float) -> None:
    assert cents(float(JUST_RATIOS[place]), 1) == pytest.approx(computed, abs=0.00005)


def test_four_pure_fifths_pass_a_just_third_by_the_syntonic_comma() -> None:
    """81/80, 21.5063 cents; mtosmt.org note."""
    assert size("pythagorean", "C4", "E4") - size("just", "C4", "E4") == pytest.approx(
        21.5063, abs=0.00005
    )


def test_in_just_c_major_the_open_a_stands_a_comma_above_the_sixth() -> None:
    tuning = Tuning(440.0, "just")
    open_a = tuning.open_hz(Pitch.of("A4"))
    assert cents(open_a, tuning.hz(Pitch.of("A4"), C_MAJOR)) == pytest.approx(21.5, abs=0.05)


@pytest.mark.parametrize(
    ("low", "high", "n", "m", "exact", "printed"),
    [
        ("F3", "C4", 3, 2, 0.5912, 0.6),
        ("G3", "D4", 3, 2, 0.6636, 0.7),
        ("A3", "E4", 3, 2, 0.7449, 0.7),
        ("D4", "A4", 3, 2, 0.9943, None),
        ("A4", "E5", 3, 2, 1.4898, None),
        ("A3", "D4", 4, 3, 0.9943, 1.0),
        ("D3", "A3", 3, 2, 0.4972, None),
        ("F3", "A3", 5, 4, 6.9294, 6.9),
        ("A3", "C#4", 5, 4, 8.7305, 8.7),
        ("C4", "E4", 5, 4, 10.3824, 10.4),
        ("F3", "D4", 5, 3, 7.9237, 7.9),
        ("G3", "E4", 5, 3, 8.8941, 8.9),
        ("A3", "F#4", 5, 3, 9.9833, 10.0),
        ("A3", "C4", 6, 5, 11.8722, 11.9),
    ],
)
def test_equal_intervals_beat_at_the_published_rates(
    low: str, high: str, n: int, m: int, exact: float, printed: float | None
) -> None:
    beats_hz = abs(n * tuned("equal", low) - m * tuned("equal", high))
    assert beats_hz == pytest.approx(exact, abs=0.00005)
    if printed is not None:
        assert beats_hz == pytest.approx(printed, abs=0.05)


@pytest.mark.parametrize(
    ("off_cents", "beats_hz"), [(1, 0.2542), (2, 0.5086), (5, 1.2726), (10, 2.5489)]
)
def test_cents_of_a_mistuned_unison_follow_from_its_beats(
    off_cents: float, beats_hz: float
) -> None:
    """440 (2^(d/1200) - 1), computed; at A4 half a last digit of beats is 0.0002 cent."""
    assert cents(440 + beats_hz, 440) == pytest.approx(off_cents, abs=0.0002)
