"""The clef that each bar is written in, and octave signs (common practice, from memory).

Violists read alto clef, and treble where it lies high; cellists bass, tenor and treble.
Notation programs are asked through music21.
"""

from __future__ import annotations

import pytest
from written_music import music, written_score

from playalong.engraving.clefs import CLEFS, OCTAVE_LINES, clefs_of, octave_signs
from playalong.engraving.musicxml import musicxml
from playalong.instrument.catalogue import find_instrument
from playalong.music.pitch import Pitch

NAMES = {clef: name for name, clef in CLEFS.items()}


def clefs(instrument: str, *bars: str) -> list[str]:
    """The clef of each bar of written pitches."""
    indexes = [[Pitch.of(pitch).index for pitch in bar.split()] for bar in bars]
    return [NAMES[clef] for clef in clefs_of(find_instrument(instrument), indexes)]


@pytest.mark.parametrize(
    ("instrument", "bar", "clef"),
    [
        ("violin", "A6 B6 C7 D7", "treble"),
        ("viola", "C3 D3 E3 F3", "alto"),
        ("viola", "B4 C5 D5 E5", "alto"),  # first position on the A string
        ("viola", "E5 F5 G5 A5", "alto"),  # fourth: A5 stands on four ledger lines
        ("viola", "F5 G5 A5 B5", "treble"),  # fifth
        ("viola", "B5 C6 D6 E6", "treble"),
        ("cello", "C2 G2 D3 A3", "bass"),
        ("cello", "B3 C4 D4 E4", "bass"),  # first position on the A string
        ("cello", "D4 E4 F4 G4", "bass"),
        ("cello", "E4 F4 G4 A4", "tenor"),  # fourth position
        ("cello", "A4 B4 C5 D5", "tenor"),
        ("cello", "C5 D5 E5 F5", "treble"),
        ("cello", "A5 B5 C6 D6", "treble"),
        ("bassoon", "C5 D5 C5 D5", "tenor"),  # and no treble clef
        ("trombone", "G4 A4 B4 C5", "tenor"),
        ("baritone", "E4 F4 G4 F4", "bass"),  # a voice keeps its clef
        ("clarinet", "G6 A6 B6 C7", "treble"),
    ],
)
def test_each_bar_has_the_clef_that_its_player_reads_there(instrument, bar, clef):
    assert clefs(instrument, bar) == [clef]


def test_the_clef_changes_with_the_music_and_comes_back():
    low, high = ["C3 E3 G3 C4"] * 2, ["F5 G5 A5 C6"] * 2
    assert clefs("viola", *low, *high, *low) == ["alto"] * 2 + ["treble"] * 2 + ["alto"] * 2


def test_a_clef_stays_where_a_single_bar_reads_as_well_without_a_change():
    high, between = "F5 G5 A5 B5", "D5 E5 F5 G5"
    assert clefs("viola", high, between, high) == ["treble"] * 3
    assert clefs("viola", between, "E5 F5 G5 A5", between) == ["alto"] * 3


def test_a_low_and_a_high_note_in_one_bar_share_the_clef_in_which_both_are_read():
    """C2 would hang nine ledger lines under a treble staff, five under the tenor clef's."""
    assert clefs("cello", "C2 C2 C2 G4") == ["bass"]


@pytest.mark.parametrize(
    ("instrument", "bar", "clef"),
    [
        ("violin", "1*8", ("G", "2", None)),
        ("viola", "1*8", ("C", "3", None)),
        ("cello", "E4*8", ("F", "4", None)),
        ("bass", "C4*8", ("F", "4", None)),
        ("tenor", "E4*8", ("G", "2", "-1")),
        ("guitar", "E4*8", ("G", "2", "-1")),
    ],
)
def test_the_music_begins_with_the_clef_of_its_instrument(instrument, bar, clef):
    top = {"violin": "E", "viola": "A", "cello": "A", "bass": "G"}.get(instrument)
    root = music(bar, f'strings = ["{top}"]' if top else "", instrument=instrument)
    found = root.find(".//clef")
    assert tuple(map(found.findtext, ("sign", "line", "clef-octave-change"))) == clef
    assert (root.find(".//transpose") is not None) == (instrument == "bass")


@pytest.mark.parametrize(
    ("bar", "signs"),
    [
        ("E6 F6 G6 A6", "...."),  # A6 stands on the fourth ledger line: A5 C6 E6 G6
        ("F6 G6 A6 B6", "8888"),  # B6 would need a fifth
        ("B6 G4 C5 B6", "8..8"),
        ("G3 D5 B6 C7", "..88"),
        ("C6 B6 A5 G5", "88.."),  # A5 would come down to A4, under the middle line
    ],
)
def test_an_octave_sign_stands_where_more_than_four_ledger_lines_would(bar, signs):
    indexes = [Pitch.of(pitch).index for pitch in bar.split()]
    found = octave_signs(find_instrument("violin"), CLEFS["treble"], indexes)
    assert "".join("8" if here else "." for here in found) == signs
    lowered = [n - 7 * here for n, here in zip(indexes, found, strict=True)]
    assert max(map(CLEFS["treble"].lines_above, lowered)) <= OCTAVE_LINES


def test_a_clarinettist_reads_ledger_lines_and_no_octave_sign():
    high = [Pitch.of("C7").index]
    assert octave_signs(find_instrument("clarinet"), CLEFS["treble"], high) == [False]
    assert octave_signs(find_instrument("flute"), CLEFS["treble"], high) == [True]


def part_of(written):
    from music21 import converter

    return converter.parseData(musicxml(written).decode(), format="musicxml").parts[0]


def test_a_notation_program_shows_the_same_clefs_bar_by_bar():
    bar = "C: p1: 1 2 3 4 | A: p7: 1 2 3 4"
    written = written_score(bar, 'note = "quarter"\nclimb = 2', instrument="viola")
    part = part_of(written)
    found = [
        {"GClef": "treble", "TrebleClef": "treble", "AltoClef": "alto"}[
            measure.recurse().notes[0].getContextByClass("Clef").classes[0]
        ]
        for measure in part.getElementsByClass("Measure")
    ]
    assert found == [NAMES[clef] for clef in written.clefs] == ["alto", "treble"] * 2


def test_a_notation_program_shows_the_same_octave_signs_over_notes_that_sound_as_written():
    more = 'strings = ["E"]\nkeys = ["C major"]\nclimb = [1, 8, 10]'
    written = written_score("1 2 3 4 4 3 2 1", more)
    part = part_of(written)
    notes = list(part.recurse().notes)
    found = [
        tuple(notes.index(note) for note in (spanner.getFirst(), spanner.getLast()))
        for spanner in part.recurse().getElementsByClass("Ottava")
    ]
    assert found == list(written.octave_signs) == [(8, 15), (16, 23)]
    sounding = [note.pitch.nameWithOctave for note in part.toSoundingPitch().recurse().notes]
    assert sounding == [note.pitch.name for note in written.notes]


def test_a_ghost_note_is_read_with_few_ledger_lines():
    low = "G: p1: B2=2 D: D3=0 G: C3=4 D: E3=1 D3=0 F3=2 E3=1 G3=4"
    bar = f"{low} | A: B3=1 D4=4 C4=2 p3: E4=2 D4=1 F4=4 E4=2 p5: G4=2 | t14: D6=3*8"
    written = written_score(bar, 'keys = ["C major"]', instrument="cello")
    [ghost] = written.bars[1].ghosts
    assert ghost.pitch.name == "C6"
    assert [NAMES[clef] for clef in written.clefs] == ["bass", "treble", "treble"]
