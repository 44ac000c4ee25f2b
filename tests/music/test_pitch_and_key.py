"""Spelling, keys and their names."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from playalong.errors import nearest
from playalong.music.key import ALL_KEYS, Key, KeyNameError, parse_key
from playalong.music.pitch import Pitch, pretty

PITCHES = st.builds(Pitch, st.integers(0, 69), st.integers(-2, 2))


@given(PITCHES)
def test_a_pitch_reads_back_from_its_name(pitch: Pitch) -> None:
    assert Pitch.of(pitch.name) == pitch


@pytest.mark.parametrize("text", ["", "C", "H4", "c4", "C#b4", "C 4", "4C"])
def test_what_is_no_pitch_is_refused(text: str) -> None:
    with pytest.raises(ValueError, match=r"is not a pitch like C5, F#4 or Bb3"):
        Pitch.of(text)


@pytest.mark.parametrize("key", ALL_KEYS, ids=str)
def test_a_key_reads_back_from_its_name(key: Key) -> None:
    assert parse_key(key.name) == key
    assert parse_key(f"  {pretty(key.name).lower().replace(' ', '   ')} ") == key
    for gap in (" ", "-"):  # as it is said: E flat major, F-sharp minor
        spoken = {"b": f"{gap}flat", "#": f"{gap}sharp"}.get(key.name[1], "")
        assert parse_key(f"{key.name[0]}{spoken}{key.name[key.name.index(' ') :]}") == key


@pytest.mark.parametrize(
    ("text", "match"),
    [
        ("G# major", '"G# major" would need 8 sharps; .* at most seven, so write "Ab major"'),
        ("B# major", '12 sharps; .* write "C major"'),
        ("Fb major", '8 flats; .* write "E major"'),
        ("Db minor", '8 flats; .* write "C# minor"'),
        ("E# harmonic minor", '8 sharps; .* write "F harmonic minor"'),
        ("G# lydian", '9 sharps; .* write "Ab lydian"'),
        ("Gb phrygian", '10 flats; .* write "F# phrygian"'),
        ("D dorain", '"D dorain" is not a key; did you mean "D dorian"'),
        ("F majr", '"F majr" is not a key; did you mean "F major"'),
        ("F", 'is not a key; write it like "F major", "Bb minor"'),
        ("C mınor", '"C mınor" is not a key'),
        ("H minor", '"H minor" is not a key; did you mean "B minor"'),  # as B is called in German
        ("h major", '"h major" is not a key; did you mean "B major"'),
        ("Hb major", '"Hb major" is not a key'),
        ("Es major", '"Es major" is not a key; did you mean "Eb major"'),  # in German as well
        ("as minor", '"as minor" is not a key; did you mean "Ab minor"'),
        ("Fis minor", '"Fis minor" is not a key; did you mean "F# minor"'),
        ("Eflat major", '"Eflat major" is not a key; did you mean "Eb major"'),
        ("E flat", '"E flat" is not a key; did you mean "Eb major"'),
        ("G sharp major", '"G# major" would need 8 sharps; .* so write "Ab major"'),
    ],
)
def test_a_key_that_cannot_be_written_comes_with_one_that_can(text: str, match: str) -> None:
    with pytest.raises(KeyNameError, match=match):
        parse_key(text)


@given(st.sampled_from(ALL_KEYS), PITCHES)
def test_the_drones_tonic_is_the_lowest_at_or_above_the_lowest_string(
    key: Key, floor: Pitch
) -> None:
    tonic = key.tonic_at_or_above(floor)
    assert (tonic.letter, tonic.alter) == (key.letter, key.alter)
    lowest_possible = Pitch(key.letter, key.alter).key_number
    assert floor.key_number <= tonic.key_number < max(floor.key_number + 12, lowest_possible + 1)


@pytest.mark.parametrize(
    ("plain", "printed"),
    [
        ("Bb major", "B♭ major"),
        ("F#4", "F♯4"),
        ("C##5", "C♯♯5"),
        ("Abb3 and B3", "A♭♭3 and B3"),
        ("A bad Ebb tide", "A bad E♭♭ tide"),
    ],
)
def test_names_are_printed_with_real_signs(plain: str, printed: str) -> None:
    assert pretty(plain) == printed


def test_the_nearest_name_is_offered_and_else_all_of_them() -> None:
    assert nearest("tonik", ("tonic", "off")) == '; did you mean "tonic"?'
    assert nearest("OLD", ("old finger", "new finger")) == '; did you mean "old finger"?'
    assert nearest("zz", ("tonic", "off")) == '; known are "tonic", "off"'


@pytest.mark.parametrize(
    ("word", "offered"),
    [
        ("to", "tonic"),  # the beginning of a word
        ("of", "off"),
        ("tonnic", "tonic"),
        ("tincs", "tonic"),  # four letters of ten in order, twice: 0.8
        ("cint", None),  # two of nine, twice: 0.44
        ("t", None),  # one letter begins too many words
        ("OFF", "off"),
    ],
)
def test_a_name_is_near_where_half_of_its_letters_follow_in_order(
    word: str, offered: str | None
) -> None:
    expected = f'; did you mean "{offered}"?' if offered else '; known are "tonic", "off"'
    assert nearest(word, ("tonic", "off")) == expected
