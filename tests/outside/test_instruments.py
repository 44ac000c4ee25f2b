"""Strings, clefs and compasses of the instruments against orchestration books.

Compasses are the usual ones (Adler, The Study of Orchestration; Piston, Orchestration), sounding;
those of voices are the choral ones of the Harvard Dictionary of Music; mezzo-soprano, bass voice
and the rarer winds are from memory of such books. A drill is not refused for
a note that a good player has, so what is taken may go a little beyond: a fourth below, an octave
above at most. Strings, clefs and transpositions (half steps) are common practice.
"""

from __future__ import annotations

import pytest
from explained import drill_text, told

from playalong.errors import PlayalongError
from playalong.instrument.catalogue import INSTRUMENTS, find_instrument
from playalong.music.pitch import Pitch

TABLE = """
violin   | G3  A7 | treble | 0  | E5 A4 D4 G3
viola    | C3  E6 | alto   | 0  | A4 D4 G3 C3
cello    | C2  C6 | bass   | 0  | A3 D3 G2 C2
bass     | E1  G4 | bass   | -12 | G2 D2 A1 E1
soprano  | C4  C6 | treble | 0  |
mezzo-soprano | A3 A5 | treble | 0 |
alto     | F3  F5 | treble | 0  |
tenor    | C3  C5 | treble | -12 |
baritone | G2  G4 | bass   | 0  |
bass voice | E2 E4 | bass | 0 |
voice    | E2  C6 | treble | 0  |
piccolo | D5 C8 | treble | 12 |
flute    | C4  D7 | treble | 0  |
recorder | C4  D7 | treble | 0  |
descant recorder | C5 D7 | treble | 12 |
treble recorder | F4 G6 | treble | 0 |
tenor recorder | C4 D6 | treble | 0 |
oboe     | Bb3 A6 | treble | 0  |
english horn | E3 A5 | treble | -7 |
clarinet | D3  Bb6 | treble | -2 |
bass clarinet | D2 F5 | treble | -14 |
soprano saxophone | Ab3 E6 | treble | -2 |
alto saxophone | Db3 A5 | treble | -9 |
tenor saxophone | Ab2 E5 | treble | -14 |
baritone saxophone | C2 A4 | treble | -21 |
bassoon  | Bb1 E5 | bass   | 0  |
horn     | B1  F5 | treble | -7 |
trumpet  | E3  C6 | treble | -2 |
cornet | E3 C6 | treble | -2 |
flugelhorn | E3 Bb5 | treble | -2 |
trombone | E1  F5 | bass   | 0  |
euphonium | E2 Bb4 | bass | 0 |
tuba | D1 F4 | bass | 0 |
guitar   | E2  B5 | treble | -12 |
"""
ROWS = [[cell.strip() for cell in row.split("|")] for row in TABLE.strip().splitlines()]
NAMES = [row[0] for row in ROWS]
FOURTH, OCTAVE = 5, 12
BEYOND = ("the lowest note here", "the highest note here", "beyond the end of the fingerboard")
SHARPS = ("C", "C#", "D", "D#", "E", "F", "F#", "G", "G#", "A", "A#", "B")


def written(key_number: int, semitones: int) -> str:
    """A MIDI key as an instrument reads it, in bar notation."""
    octave, step = divmod(key_number - semitones, 12)
    name = SHARPS[step]
    return f"{name if len(name) > 1 else name + 'n'}{octave - 1}"


def is_taken(instrument: str, key_number: int, semitones: int) -> bool:
    try:
        told(drill_text(f"{written(key_number, semitones)}*8", instrument=instrument))
    except PlayalongError as error:
        if not any(words in str(error) for words in BEYOND):
            raise
        return False
    return True


@pytest.mark.parametrize("row", ROWS, ids=NAMES)
def test_the_usual_compass_is_taken_and_not_much_beyond(row: list[str]) -> None:
    name, compass, _, semitones, _ = row
    low, high = (Pitch.of(pitch).key_number for pitch in compass.split())
    for key_number in (low, high):
        assert is_taken(name, key_number, int(semitones)), key_number
    for key_number in (low - FOURTH - 1, high + OCTAVE + 1):
        assert not is_taken(name, key_number, int(semitones)), key_number


@pytest.mark.parametrize("row", ROWS, ids=NAMES)
def test_what_the_table_calls_lowest_and_highest_is_the_last_that_is_taken(row: list[str]) -> None:
    name, _, _, semitones, _ = row
    instrument = find_instrument(name)
    low, high = instrument.lowest.key_number, instrument.highest.key_number
    assert is_taken(name, low, int(semitones))
    assert not is_taken(name, low - 1, int(semitones))
    assert is_taken(name, high, int(semitones))
    if not instrument.strings:  # on a string the end of the fingerboard counts
        assert not is_taken(name, high + 1, int(semitones))


@pytest.mark.parametrize("row", ROWS, ids=NAMES)
def test_strings_clef_and_octave_are_those_of_common_practice(row: list[str]) -> None:
    name, _, clef, semitones, strings = row
    instrument = find_instrument(name)
    assert (instrument.clef, instrument.transposition.semitones) == (clef, int(semitones))
    assert [string.name for string in instrument.strings] == strings.split()


@pytest.mark.parametrize("name", ["violin", "viola", "cello", "bass"])
def test_a_fingerboard_ends_about_two_octaves_and_a_half_above_the_open_string(name: str) -> None:
    """Two semitones less are taken and three more are not (makers vary; common practice)."""
    instrument = find_instrument(name)
    middle = instrument.strings[0].key_number + 30
    assert is_taken(name, middle - 2, instrument.transposition.semitones)
    assert not is_taken(name, middle + 3, instrument.transposition.semitones)


@pytest.mark.parametrize(
    ("name", "program"), [("violin", 40), ("viola", 41), ("cello", 42), ("bass", 43)]
)
def test_a_bowed_instrument_has_its_general_midi_program(name: str, program: int) -> None:
    """General MIDI 1 counts from 1: Violin 41, Viola 42, Cello 43, Contrabass 44."""
    assert find_instrument(name).program == program


@pytest.mark.parametrize("name", NAMES)
def test_every_voice_is_one_that_the_bank_has(name: str) -> None:
    assert find_instrument(name).program in (40, 41, 42, 43)


def test_no_other_instrument_is_known_than_those_checked_here() -> None:
    assert list(INSTRUMENTS) == NAMES
    with pytest.raises(PlayalongError, match=f'known here; known are "{NAMES[0]}"'):
        find_instrument("qqqq")
