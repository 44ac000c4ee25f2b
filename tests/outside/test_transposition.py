"""What transposing instruments read and sound, against music21 and the handbooks' table.

music21 10.5, `instrument.*.transposition`: from what is read to what sounds. Half steps also as in
orchestration books (common practice).
"""

from __future__ import annotations

from xml.etree.ElementTree import fromstring

import pytest
import smf
from explained import drill_text, printed, told
from music21 import converter, interval
from music21 import instrument as m21
from playing import drill_of, midi_bytes, play

from playalong.drill.load import parse
from playalong.drill.origin import DrillError
from playalong.engraving.musicxml import musicxml
from playalong.engraving.words import score_title
from playalong.engraving.written_score import write_down
from playalong.instrument.catalogue import find_instrument
from playalong.music.key import ALL_KEYS
from playalong.music.pitch import Pitch
from playalong.performance.timing import timeline_of
from playalong.score.writing import write

BY_MUSIC21 = [
    ("clarinet", m21.Clarinet),
    ("bass clarinet", m21.BassClarinet),
    ("english horn", m21.EnglishHorn),
    ("horn", m21.Horn),
    ("trumpet", m21.Trumpet),
    ("soprano saxophone", m21.SopranoSaxophone),
    ("alto sax", m21.AltoSaxophone),
    ("tenor saxophone", m21.TenorSaxophone),
    ("baritone saxophone", m21.BaritoneSaxophone),
    ("piccolo", m21.Piccolo),
    ("double bass", m21.Contrabass),
]
HALF_STEPS = [
    ("clarinet", -2), ("clarinet in A", -3), ("clarinet in E♭", 3), ("clarinet in C", 0),
    ("trumpet", -2), ("trumpet in C", 0), ("horn", -7), ("horn in F", -7), ("cor anglais", -7),
    ("soprano sax", -2), ("saxophone", -9), ("tenor sax", -14), ("bass clarinet", -14),
    ("baritone sax", -21), ("double bass", -12), ("guitar", -12), ("piccolo", 12),
    ("descant recorder", 12), ("violin", 0), ("oboe", 0),
]  # fmt: skip


@pytest.mark.parametrize(("name", "kind"), BY_MUSIC21)
def test_an_instrument_transposes_as_music21_has_it(name: str, kind: type[m21.Instrument]) -> None:
    by: interval.Interval = kind().transposition
    ours = find_instrument(name).transposition
    assert (ours.letters, ours.semitones) == (by.generic.staffDistance, by.semitones)


@pytest.mark.parametrize(("name", "half_steps"), HALF_STEPS)
def test_half_steps_from_what_is_read_to_what_sounds(name: str, half_steps: int) -> None:
    assert find_instrument(name).transposition.semitones == half_steps


def test_a_written_c_of_a_clarinet_in_b_flat_is_read_as_c_and_heard_as_b_flat() -> None:
    """B flat 4 is MIDI key 70, 466.16 Hz (MTU's table of note frequencies)."""
    performance = play("C5*8", 'keys = ["C major"]', instrument="clarinet")
    note = timeline_of(performance).notes[-1]
    assert (note.pitch, note.hz) == ("C5", pytest.approx(466.16, abs=0.005))
    guide = smf.read(midi_bytes(performance)).tracks[1]
    assert {event.data[1] for event in guide if event.kind == 0x9} == {70}


def test_the_drone_and_midis_signature_are_those_of_the_key_that_sounds() -> None:
    """G major on a clarinet in B flat sounds in F: one flat, and the F above its lowest D3."""
    performance = play("G4*8", 'keys = ["G major"]', instrument="clarinet")
    assert performance.drone is not None
    assert [pitch.name for pitch in performance.drone.pitches] == ["F3"]
    conductor = smf.read(midi_bytes(performance)).tracks[0]
    assert [event.data[2:].hex(" ") for event in conductor if event.data[1] == 0x59] == ["ff 00"]


@pytest.mark.parametrize("drone", ["A4", "tonic"])
@pytest.mark.parametrize("temperament", ["equal", "just", "pythagorean"])
def test_a_unison_of_guide_and_drone_does_not_beat_on_a_transposing_instrument(
    drone: str, temperament: str
) -> None:
    more = f'keys = ["A minor"]\ndrone = {{ on = "{drone}" }}\n'
    more += f'tuning = {{ temperament = "{temperament}" }}'
    performance = play("A4*8", more, instrument="horn")
    assert performance.drone is not None
    octaves = performance.notes[-1].note.hz / performance.drone.hz[0]
    assert any(octaves == pytest.approx(2**n, rel=1e-12) for n in range(3))


MUSICXML = [  # diatonic, chromatic, octave-change; what is written for a written E5 in D major
    ("clarinet", ("-1", "-2", None)),
    ("clarinet in A", ("-2", "-3", None)),
    ("clarinet in Eb", ("2", "3", None)),
    ("horn", ("-4", "-7", None)),
    ("alto saxophone", ("-5", "-9", None)),
    ("tenor saxophone", ("-1", "-2", "-1")),
    ("baritone saxophone", ("-5", "-9", "-1")),
    ("piccolo", ("0", "0", "1")),
    ("bass", ("0", "0", "-1")),
]


@pytest.mark.parametrize(("name", "transpose"), MUSICXML)
def test_the_sheet_has_the_written_signature_and_notes_and_tells_how_to_transpose(
    name: str, transpose: tuple[str | None, ...]
) -> None:
    """MusicXML 4.0, <transpose>: what must be added to what is written for what sounds."""
    drill = drill_of("E4*4 F#4*2 G4*2", 'keys = ["D major"]', instrument=name)
    xml = musicxml(write_down(write(drill)))
    root = fromstring(xml)
    parts = ("diatonic", "chromatic", "octave-change")
    assert tuple(root.findtext(f".//transpose/{part}") for part in parts) == transpose
    assert root.findtext(".//fifths") == "2"
    assert [step.text for step in root.iter("step")] == ["E", "F", "G"]
    assert root.find(".//accidental") is None
    read = converter.parseData(xml.decode(), format="musicxml").toSoundingPitch()
    heard = [note.pitch.midi for note in read.recurse().notes]
    assert heard == [note.pitch.key_number for note in write(drill).notes]


@pytest.mark.parametrize("name", [name for name, _ in HALF_STEPS])
def test_every_key_can_be_read_and_sounds_in_a_key_that_can_be_written(name: str) -> None:
    by = find_instrument(name).transposition
    for key in ALL_KEYS:
        sounding, spelled = by.sounding_key(key), by.within(key)
        assert abs(sounding.signature) <= 7
        assert spelled.semitones == by.semitones
        for index in range(28, 35):
            read = key.pitch(index)
            heard = spelled.sounding(read)
            assert heard == sounding.pitch(heard.index)
            assert heard.key_number == read.key_number + by.semitones
            assert spelled.written(heard) == read


def test_explain_names_what_is_read_and_says_what_sounds() -> None:
    text = drill_text("D5*4 F#5*4", 'keys = ["D major"]', instrument="clarinet in A")
    (data,) = told(text)
    assert (data["instrument"], data["key"]) == ("clarinet in A", "D major")
    assert (data["sounding_key"], data["sounds"]) == ("B major", "a minor third lower")
    notes = [(note["pitch"], note["sounds"]) for note in data["bars"][0]["notes"]]
    assert notes == [("D5", "B4"), ("F#5", "D#5")]
    lines = printed(text).splitlines()
    assert lines[1] == "sounds a minor third lower than it is written, in B major"
    assert "    sounds: B4 D#5" in lines
    assert "sounds" not in printed(drill_text("D5*8", instrument="oboe"))


def test_a_bass_is_told_its_notes_as_it_reads_them() -> None:
    (data,) = told(drill_text("D: E3*4 G3*4", instrument="double bass"))
    notes = [(note["pitch"], note["sounds"]) for note in data["bars"][0]["notes"]]
    assert notes == [("E3", "E2"), ("G3", "G2")]
    assert data["sounds"] == "an octave lower"


def test_the_sheets_title_names_instrument_key_and_what_sounds() -> None:
    title = score_title(write(drill_of("D5*8", 'keys = ["D major"]', instrument="clarinet in Bb")))
    assert title == "Clarinet in B♭, D major (sounds C major)"


@pytest.mark.parametrize(
    ("table", "match"),
    [
        ('name = "clarinet"\nin = "F"', 'clarinet is known here in Bb, A, C, D, Eb, not in "F"'),
        ('name = "violin"\nin = "A"', "the violin is made in one pitch only; leave it out"),
    ],
)
def test_a_pitch_that_an_instrument_is_not_made_in_is_told(table: str, match: str) -> None:
    with pytest.raises(DrillError, match=match):
        parse(f'title = "T"\nbar = "C5*8"\n[instrument]\n{table}')


def test_an_instrument_in_another_pitch_keeps_its_written_compass() -> None:
    """Written E3 is the lowest note of a clarinet in any pitch (common practice)."""
    for pitch in ("Bb", "A", "Eb"):
        clarinet = find_instrument(f"clarinet in {pitch}")
        assert clarinet.as_written(clarinet.lowest) == Pitch.of("E3")
