"""From finger to pitch to place: half position, extensions, and the two ends of the string."""

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from playalong.instrument.catalogue import INSTRUMENTS, find_instrument
from playalong.instrument.fingerboard import Fingerboard, hz_at_place, place_mm
from playalong.instrument.hand import FingerError
from playalong.instrument.instruments import InstrumentError
from playalong.instrument.position import Position
from playalong.music.key import ALL_KEYS, Key, parse_key
from playalong.music.pitch import Pitch
from playalong.music.temperament import TEMPERAMENTS, Tuning, cents


def hand(instrument: str = "violin", key: str = "C major") -> Fingerboard:
    return Fingerboard(INSTRUMENTS[instrument], parse_key(key), Tuning())


HANDS = st.builds(
    Fingerboard,
    st.sampled_from([INSTRUMENTS["violin"], INSTRUMENTS["viola"]]),
    st.sampled_from(ALL_KEYS),
    st.builds(Tuning, st.just(440.0), st.sampled_from(TEMPERAMENTS)),
)


def played(player: Fingerboard, string: str, position: int) -> list[str]:
    return [player.stop(string, Position(position), finger).pitch.name for finger in (1, 2, 3, 4)]


def test_the_key_signature_decides_where_the_same_fingers_fall() -> None:
    """Common practice on a violin's A string."""
    assert played(hand(), "A", 1) == ["B4", "C5", "D5", "E5"]
    assert played(hand(), "A", 2) == ["C5", "D5", "E5", "F5"]
    assert played(hand(key="D major"), "A", 1) == ["B4", "C#5", "D5", "E5"]


def test_half_position_raises_the_open_strings_letter() -> None:
    """Finger 1 on the string's letter raised, 2 to 4 as in first position less one letter."""
    assert played(hand(), "G", 0) == ["G#3", "A3", "B3", "C4"]
    assert played(hand(key="E major"), "D", 0) == ["D#4", "E4", "F#4", "G#4"]
    assert played(hand("viola"), "C", 0) == ["C#3", "D3", "E3", "F3"]


@pytest.mark.parametrize("finger", [1, 2])
def test_half_position_offers_first_where_two_fingers_would_share_a_place(finger: int) -> None:
    match = (
        r"half position on the G string fingers 1 and 2 would share a place "
        r"\(G#3 and Ab3\) in F minor; first position \(p1:\) plays Ab3 with finger 1"
    )
    with pytest.raises(FingerError, match=match):
        hand(key="F minor").stop("G", Position(0), finger)


def test_half_position_still_takes_fingers_3_and_4_where_1_and_2_clash() -> None:
    player = hand(key="F minor")
    assert [player.stop("G", Position(0), finger).pitch.name for finger in (3, 4)] == ["Bb3", "C4"]


@pytest.mark.parametrize(
    ("finger", "alter", "name"),
    [(1, "#", "F##4"), (1, "b", "F4"), (1, "n", "F4"), (2, "n", "G4"), (2, "b", "Gb4")],
)
def test_an_accidental_goes_against_the_signature(finger: int, alter: str, name: str) -> None:
    player = hand(key="D major")
    assert player.stop("D", Position(2), finger, alter=alter).pitch.name == name


@pytest.mark.parametrize(("finger", "name"), [(1, "E4"), (3, "B4"), (4, "C5")])
def test_an_extension_goes_one_letter_beyond_the_frame(finger: int, name: str) -> None:
    """Second position on the D string: F4 G4 A4 B4."""
    assert hand().stop("D", Position(2), finger, extended=True).pitch.name == name


@pytest.mark.parametrize(
    ("key", "string", "position", "finger", "kind", "match"),
    [
        (
            "Cb major", "E", 1, 1, {},
            r"finger 1 in position 1 on the E string would sound Fb5, at or below the open "
            r"string E5; play it as the open E string \(0\), or a finger higher",
        ),
        (
            "C major", "D", 1, 1, {"extended": True},
            r"would sound D4, at or below .* D4; play it as the open D string",
        ),
        (
            "Bb major", "E", 1, 1, {"extended": True},
            r"would sound Eb5, at or below .* E5; it can be stopped on the A string",
        ),
        ("C major", "A", 0, 1, {"alter": "b"}, r"would sound A4, at or below the open string A4"),
        (
            "C major", "E", 15, 4, {},
            r"finger 4 in position 15 on the E string would sound B7, 273 mm from the nut, beyond "
            r"the end of the fingerboard at 270 mm; position 14 is the highest in which all four",
        ),
    ],
)  # fmt: skip
def test_a_finger_without_a_place_on_the_string_comes_with_what_would_work(
    key: str, string: str, position: int, finger: int, kind: dict[str, object], match: str
) -> None:
    with pytest.raises(FingerError, match=match):
        hand(key=key).stop(string, Position(position), finger, **kind)  # type: ignore[arg-type]


def test_the_position_that_is_offered_does_work() -> None:
    for finger in (1, 2, 3, 4):
        hand().stop("E", Position(14), finger)


@given(HANDS, st.sampled_from("DAG"), st.integers(0, 12), st.integers(1, 4))
def test_every_finger_that_is_allowed_sounds_above_its_open_string_on_the_board(
    player: Fingerboard, string: str, position: int, finger: int
) -> None:
    try:
        pitch = player.stop(string, Position(position), finger).pitch
    except FingerError:
        assume(False)
    mm = player.place_mm(string, pitch)
    assert 0 < mm <= player.instrument.fingerboard_mm


@given(HANDS, st.integers(1, 12))
def test_places_rise_with_the_fingers_of_a_hand(player: Fingerboard, position: int) -> None:
    frame = [player.standing("D", Position(position), finger) for finger in (1, 2, 3, 4)]
    mm = [player.place_mm("D", pitch) for pitch in frame]
    assert mm == sorted(set(mm))


@given(st.floats(100, 1200), st.floats(40, 700), st.floats(1, 2400))
def test_pitch_to_place_and_back_is_where_it_began(
    length_mm: float, open_hz: float, above_cents: float
) -> None:
    hz = open_hz * 2 ** (above_cents / 1200)
    mm = place_mm(length_mm, open_hz, hz)
    assert 0 < mm < length_mm
    assert cents(hz_at_place(length_mm, open_hz, mm), hz) == pytest.approx(0, abs=1e-6)


@given(st.floats(100, 1200), st.integers(0, 24))
def test_an_octave_halves_what_is_left_of_the_string(length_mm: float, semitones: int) -> None:
    low, high = (
        place_mm(length_mm, 100, 100 * 2 ** (each / 12)) for each in (semitones, semitones + 12)
    )
    assert high == pytest.approx(length_mm / 2 + low / 2, rel=1e-12)


def test_a_string_knows_its_number_and_numeral_from_the_highest() -> None:
    viola = INSTRUMENTS["viola"]
    assert [(viola.string_number(name), viola.roman(name)) for name in "AC"] == [
        (1, "I"),
        (4, "IV"),
    ]


@pytest.mark.parametrize(
    ("name", "length_mm", "match"),
    [
        ("violin", 163, r"string_length_mm = 163 is outside 164 to 377 mm for violin"),
        ("viola", 432, r"string_length_mm = 432 is outside 188 to 431 mm for viola"),
        ("flute", 300, r"no strings are known for flute; leave string_length_mm out"),
    ],
)
def test_a_string_length_out_of_reason_is_refused(name: str, length_mm: float, match: str) -> None:
    with pytest.raises(InstrumentError, match=match):
        INSTRUMENTS[name].with_string_length(length_mm)


@pytest.mark.parametrize(
    ("name", "match"),
    [
        ("violine", '"violine" is not an instrument known here; did you mean "violin"'),
        ("qqq bass drum", '"qqq bass drum" is not an instrument known here'),
    ],
)
def test_an_unknown_instrument_comes_with_the_nearest(name: str, match: str) -> None:
    with pytest.raises(InstrumentError, match=match):
        find_instrument(name)


@pytest.mark.parametrize("name", INSTRUMENTS)
def test_every_instrument_of_the_table_is_whole(name: str) -> None:
    each = find_instrument(f" {name.upper()} ")
    assert each.name == name
    assert each.lowest.key_number < each.highest.key_number
    assert 0 <= each.fingerboard_mm <= each.string_length_mm
    assert each.clef in ("treble", "alto", "tenor", "bass")
    if each.strings:
        assert each.lowest == each.strings[-1]
        assert [s.key_number for s in each.strings] == sorted(
            (s.key_number for s in each.strings), reverse=True
        )


@pytest.mark.parametrize("name", ["violin", "viola", "cello", "bass"])
def test_the_highest_note_of_the_table_lies_on_the_fingerboard(name: str) -> None:
    each = INSTRUMENTS[name]
    player = Fingerboard(each, Key(0, 0, "major"), Tuning())
    assert player.place_mm(each.string_names[0], each.highest) <= each.fingerboard_mm


def test_a_string_that_an_instrument_lacks_comes_with_those_it_has() -> None:
    with pytest.raises(InstrumentError, match='violin has no "C" string; its strings are E, A, D'):
        INSTRUMENTS["violin"].string("C")
    with pytest.raises(InstrumentError, match="no strings are known for flute"):
        INSTRUMENTS["flute"].string("D")
    assert INSTRUMENTS["viola"].string("C") == Pitch.of("C3")
