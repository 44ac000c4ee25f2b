"""Names that players use, sizes, and strings tuned otherwise."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import pytest
from explained import told
from playing import in_quarters

from playalong.drill.load import parse
from playalong.drill.origin import DrillError
from playalong.instrument.catalogue import ALIASES, INSTRUMENTS, find_instrument, known_names
from playalong.score.model import Score
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


@pytest.mark.parametrize("size", ["4/4", "3/4", "1/2", "1/4", "1/8"])
@pytest.mark.parametrize(("name", "bar"), [("cello", "A: p1: 1 2 4"), ("bass", "G: p1: 1 2 4")])
def test_small_cellos_and_basses_are_fingered_as_large_ones(name: str, bar: str, size: str) -> None:
    """Millimetres shrink with the string (acoustics), so no small hand is told of a stretch."""
    small = in_quarters(name, "F major", bar).drill.instrument.with_size(size)
    full = in_quarters(name, "F major", bar)
    written = write(replace(full.drill, instrument=small))
    for one, other in zip(written.notes, full.notes, strict=True):
        assert (one.pitch, one.finger, one.position) == (other.pitch, other.finger, other.position)
        assert one.string is not None
        share = small.string_length_mm / full.drill.instrument.string_length_mm
        place = full.board.place_mm(one.string, other.pitch) * share
        assert written.board.place_mm(one.string, one.pitch) == pytest.approx(place, abs=1e-9)
    assert written.warnings == full.warnings


@pytest.mark.parametrize(
    ("strings", "bar", "sounds"),
    [
        (["G2", "D2", "A1", "C1"], "E: p1n: 1 2 4", ["D1", "Eb1", "E1"]),  # the E string down to C
        (["G2", "D2", "A1", "E1", "B0"], "B: p1n: 1 2 4", ["Db1", "D1", "Eb1"]),
        (["G2", "D2", "A1", "E1", "B0"], "G: p1n: 1 2 4", ["A2", "Bb2", "B2"]),
        (["A2", "E2", "B1", "F#1"], "G: p1n: 1 2 4", ["B2", "C3", "Db3"]),  # solo tuning
        (["A2", "E2", "B1", "F#1"], "E: p3n: 1 2 4", ["B1", "C2", "Db2"]),
    ],
)
def test_a_bass_tuned_otherwise_keeps_its_fingers(
    strings: list[str], bar: str, sounds: list[str]
) -> None:
    """Low C and five strings with a B (LilyPond's bass tunings), solo tuning a whole step up."""
    tuned = f'[instrument]\nname = "bass"\nstrings = {strings}'.replace("'", '"')
    text = (
        f'title = "T"\nbar = "{bar}"\nmeter = "3/4"\nnote = "quarter"\nkeys = ["F major"]\n{tuned}'
    )
    written = write(parse(text))
    usual = in_quarters("bass", "F major", bar.replace("B:", "E:"))
    notes, others = written.notes, usual.notes
    assert [note.pitch.name for note in notes] == sounds
    assert [(note.finger, note.position) for note in notes] == [
        (note.finger, note.position) for note in others
    ]
    assert notes[0].string is not None
    for one, other in zip(notes, others, strict=True):
        above = written.instrument.string(one.string or "").key_number
        usually = usual.instrument.string(other.string or "").key_number
        assert one.pitch.key_number - above == other.pitch.key_number - usually


def of_four(key: str, bar: str, more: str = 'hand = "1-2-3-4"') -> Score:
    text = f'title = "T"\nbar = "{bar}"\nkeys = ["{key}"]\nnote = "quarter"\nmeter = "{{}}/4"\n'
    count = len([word for word in bar.split() if not word.endswith(":")])
    return write(parse(f'{text.format(count)}[instrument]\nname = "bass"\n{more}'))


def test_a_bass_may_be_played_with_a_finger_for_each_half_step() -> None:
    """1-2-3-4 in place of 1-2-4 (common practice of some schools): a minor third in one hand."""
    written = of_four("D major", "D: p1: 1 2 4 G: p1n: 1 2 3 4")
    assert [(note.pitch.name, note.finger) for note in written.notes] == [
        *(("E2", 1), ("F#2", 3), ("G2", 4)),
        *(("A2", 1), ("Bb2", 2), ("B2", 3), ("C3", 4)),
    ]
    usual = of_four("D major", "D: p1: 1 2 4", 'hand = "1-2-4"')
    assert [(note.pitch.name, note.finger) for note in usual.notes[:2]] == [("E2", 1), ("F#2", 4)]


@pytest.mark.parametrize(
    ("name", "hand", "told"),
    [
        ("violin", "1-2-4", "one hand is known for violin; leave hand out"),
        ("bass", "1-3-4", "1-3-4"),
    ],
)
def test_a_hand_that_there_is_none_of_is_told(name: str, hand: str, told: str) -> None:
    with pytest.raises(DrillError, match=told):
        parse(f'title = "T"\nbar = "1*8"\n[instrument]\nname = "{name}"\nhand = "{hand}"')
