"""Names that players use, sizes, and strings tuned otherwise."""

from __future__ import annotations

from itertools import pairwise

import pytest
from explained import told

from playalong.drill.load import parse
from playalong.drill.origin import DrillError
from playalong.instrument.catalogue import ALIASES, INSTRUMENTS, find_instrument, known_names
from playalong.score.writing import write

BOWED = ("violin", "viola", "cello", "bass")
SIZES = ("7/8", "3/4", "1/2", "1/4", "1/8", "1/10", "1/16")

# Body lengths in mm: L'Art du Luthier (1903) as quoted at quadibloc.com for violin and cello 3/4;
# a cello maker's measurement guide (aitchisoncellos.com) for the cello's backs.
BODIES_MM = {
    "violin": {"4/4": 358, "3/4": 332, "1/2": 302},
    "cello": {"4/4": 760, "7/8": 730, "3/4": 690},
}


def drill(instrument: str, bar: str = "p1: 1 2 3 4", more: str = "") -> str:
    head = f'title = "T"\nbar = "{bar}"\nnote = "quarter"\n{more}'
    return f"{head}\n[instrument]\n{instrument}"


@pytest.mark.parametrize(
    ("said", "meant"),
    [("double bass", "bass"), ("Fiddle", "violin"), ("mezzo", "mezzo-soprano"),
     ("violoncello", "cello"), ("Alto Sax", "alto saxophone"), ("French horn", "horn")],
)  # fmt: skip
def test_an_instrument_answers_to_the_names_that_people_use(said: str, meant: str) -> None:
    assert find_instrument(said) is INSTRUMENTS[meant]


def test_every_name_is_taken_and_an_alias_never_hides_an_instrument() -> None:
    assert all(find_instrument(name) for name in known_names())
    assert not set(ALIASES) & set(INSTRUMENTS)


@pytest.mark.parametrize("name", BOWED)
def test_every_bowed_instrument_has_its_sizes_each_shorter_than_the_one_before(name: str) -> None:
    lengths = [INSTRUMENTS[name].with_size(size).string_length_mm for size in SIZES]
    assert all(one > two for one, two in pairwise(lengths))
    for size in INSTRUMENTS[name].sizes:  # a size's length is one that may be written, too
        sized = INSTRUMENTS[name].with_size(size)
        share = sized.fingerboard_mm / sized.string_length_mm
        full = INSTRUMENTS[name]
        assert share == pytest.approx(full.fingerboard_mm / full.string_length_mm)


@pytest.mark.parametrize("name", BODIES_MM)
def test_strings_shorten_as_bodies_do(name: str) -> None:
    """Our string lengths are from memory; published bodies agree with them within 4 per cent."""
    full, bodies = INSTRUMENTS[name], BODIES_MM[name]
    for size, body_mm in bodies.items():
        by_body = full.string_length_mm * body_mm / bodies["4/4"]
        assert full.sizes[size] == pytest.approx(by_body, rel=0.04)


def test_a_half_size_scales_every_millimetre() -> None:
    (full,) = told(drill('name = "violin"'))
    (half,) = told(drill('name = "violin"\nsize = "1/2"'))
    assert half["instrument"] == "violin, 1/2 size"
    for one, two in zip(full["bars"][0]["notes"], half["bars"][0]["notes"], strict=True):
        assert two["place_mm"] == pytest.approx(one["place_mm"] * 285 / 328, abs=0.11)


def test_a_string_tuned_otherwise_keeps_its_name_and_moves_what_its_fingers_sound() -> None:
    """Cross tuning A E A E: the D string sounds E4, the G string A3."""
    text = drill('name = "fiddle"\nstrings = ["A3", "E4", "A4", "E5"]', "G: 0 p1: 1 D: 0 1")
    (data,) = told(text)
    assert [note["pitch"] for note in data["bars"][0]["notes"]] == ["A3", "B3", "E4", "F4"]
    assert data["instrument"] == "violin, tuned E5 A4 E4 A3"


def test_a_fifth_string_is_called_by_its_letter() -> None:
    text = drill('name = "violin"\nstrings = ["E5", "A4", "D4", "G3", "C3"]',
                 more='strings = ["C"]')  # fmt: skip
    score = write(parse(text))
    assert [note.pitch.name for note in score.notes] == ["D3", "E3", "F3", "G3"]
    assert score.instrument.roman("C") == "V"
    bass = drill('name = "bass"\nstrings = ["G2", "D2", "A1", "E1", "B0"]', "B: C2 D2 E2 F2")
    assert [note.pitch.name for note in write(parse(bass)).notes] == ["C1", "D1", "E1", "F1"]


@pytest.mark.parametrize(
    ("table", "match"),
    [
        ('name = "violin"\nsize = "2/3"', 'line .*: instrument: "2/3" is not known here'),
        ('name = "bass"\nsize = "15 inch"', '"15 inch" is not a size of the bass; there are 4/4'),
        ('name = "oboe"\nsize = "1/2"', "no sizes are known for oboe; leave size out"),
        ('name = "violin"\nsize = "1/2"\nstring_length_mm = 290', "say the same; leave one"),
        ('name = "violin"\nstrings = ["E5", "A4", "D4", "B2"]', "B2 is more than a fifth from G3"),
        ('name = "violin"\nstrings = ["E5", "A4", "D4", "D4"]', "two strings are tuned to one"),
        ('name = "violin"\nstrings = ["E5", "A4", "A3"]', "two of E5, A4, A3 would have one name"),
        ('name = "violin"\nstrings = ["H5"]', '"H5" is not a pitch as it sounds, like "G3"'),
        ('name = "oboe"\nstrings = ["A4"]', "no strings are known for oboe; leave strings out"),
    ],
)
def test_what_no_instrument_is_is_told_with_its_line(table: str, match: str) -> None:
    with pytest.raises(DrillError, match=match):
        parse(drill(table))
