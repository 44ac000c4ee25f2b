"""The exported MIDI against the MIDI 1.0 specification (with its Standard MIDI File chapter).

Bytes are read by the reader in tests/smf.py, which is first held to the standard's own examples.
"""

from __future__ import annotations

import io
from fractions import Fraction
from pathlib import Path

import mido
import music21
import pretty_midi
import pytest
import smf
from mido.midifiles.meta import encode_variable_int
from playing import midi_bytes, play

from playalong.music.key import ALL_KEYS, Key
from playalong.performance.clock import Clock
from playalong.performance.performance import Performance
from playalong.sound.bend import bend_cents, bend_value, key_cents
from playalong.sound.midi import CLICK_CHANNEL

BAR = "p1: 1 2 3 1 p3: 1 2 p1: 2 1"
BAR_6_8 = "p1: 1 2 3 p3: 1 2 3"

# MIDI 1.0, Standard MIDI Files 1.0: table of variable-length quantities
QUANTITIES = {
    0x00: "00",
    0x40: "40",
    0x7F: "7F",
    0x80: "81 00",
    0x2000: "C0 00",
    0x3FFF: "FF 7F",
    0x4000: "81 80 00",
    0x100000: "C0 80 00",
    0x1FFFFF: "FF FF 7F",
    0x200000: "81 80 80 00",
    0x8000000: "C0 80 80 00",
    0xFFFFFFF: "FF FF FF 7F",
}
# The two worked examples of the Standard MIDI File chapter
FORMAT_0 = """
4D546864 00000006 0000 0001 0060
4D54726B 0000003B
00 FF58 04 04021808  00 FF51 03 07A120  00 C005  00 C12E  00 C246
00 92 30 60  00 3C 60  60 91 43 40  60 90 4C 20
8140 82 30 40  00 3C 40  00 81 43 40  00 80 4C 40  00 FF2F00
"""
FORMAT_1 = """
4D546864 00000006 0001 0004 0060
4D54726B 00000014  00 FF58 04 04021808 00 FF51 03 07A120 8300 FF2F00
4D54726B 00000010  00 C005 8140 904C20 8140 4C00 00 FF2F00
4D54726B 0000000F  00 C12E 60 914340 8220 4300 00 FF2F00
4D54726B 00000015  00 C246 00 923060 00 3C60 8300 3000 00 3C00 00 FF2F00
"""


def metas(performance: Performance, kind: int) -> list[list[str]]:
    """Contents of one kind of meta event, as hex, track by track."""
    tracks = smf.read(midi_bytes(performance)).tracks
    return [
        [event.data[2:].hex(" ") for event in track if event.data[:2] == bytes((0xFF, kind))]
        for track in tracks
    ]


# --- the reader and the writer of the file's grammar


@pytest.mark.parametrize(("value", "written"), QUANTITIES.items())
def test_variable_length_quantities_are_those_of_the_standard(value: int, written: str) -> None:
    data = bytes.fromhex(written)
    assert smf.quantity(data, 0) == (value, len(data))
    assert bytes(encode_variable_int(value)) == data  # what writes our files


def test_the_reader_reads_the_worked_example_of_format_0() -> None:
    file = smf.read(bytes.fromhex(FORMAT_0))
    assert (file.format, file.division) == (0, 96)
    ons = [(e.tick, e.channel, e.data[1], e.data[2]) for e in file.tracks[0] if e.kind == 9]
    assert ons == [(0, 2, 48, 96), (0, 2, 60, 96), (96, 1, 67, 64), (192, 0, 76, 32)]
    offs = [(e.tick, e.channel, e.data[1]) for e in file.tracks[0] if e.kind == 8]
    assert offs == [(384, 2, 48), (384, 2, 60), (384, 1, 67), (384, 0, 76)]


def test_the_reader_reads_the_worked_example_of_format_1() -> None:
    file = smf.read(bytes.fromhex(FORMAT_1))
    assert (file.format, file.division, len(file.tracks)) == (1, 96, 4)
    assert [track[-1].tick for track in file.tracks] == [384] * 4
    assert [(e.tick, e.data.hex(" ")) for e in file.tracks[2]] == [
        (0, "c1 2e"),
        (96, "91 43 40"),
        (384, "91 43 00"),
        (384, "ff 2f"),
    ]


# --- header, tracks and conductor


def test_the_header_is_format_1_with_five_tracks_and_960_ticks_a_quarter() -> None:
    assert midi_bytes(play(BAR))[:14].hex() == "4d546864000000060001000503c0"


@pytest.mark.parametrize("bpm", [40, 60, 208])
def test_every_track_ends_with_end_of_track_and_all_at_one_tick(bpm: int) -> None:
    performance = play(BAR, bpm=bpm)
    data = midi_bytes(performance)
    assert data.count(b"\xff\x2f\x00") == 5
    tracks = smf.read(data).tracks
    assert {track[-1].data for track in tracks} == {b"\xff\x2f"}
    end = performance.length * performance.clock.ticks_per_quarter
    assert {track[-1].tick for track in tracks} == {end}


# Set tempo: microseconds a quarter, 60 000 000 / tempo (Standard MIDI Files 1.0), computed
@pytest.mark.parametrize(
    ("bpm", "meter", "written"),
    [
        (60, "4/4", "0f 42 40"),
        (40, "4/4", "16 e3 60"),
        (100, "4/4", "09 27 c0"),
        (72, "4/4", "0c b7 35"),
        (208, "4/4", "04 66 ce"),
        (120, "4/4", "07 a1 20"),
        (60, "6/8", "0a 2c 2b"),  # the beat, and so the tempo, is the dotted quarter
    ],
)
def test_set_tempo_stands_once_in_the_first_track(bpm: int, meter: str, written: str) -> None:
    bar = BAR if meter == "4/4" else BAR_6_8
    found = metas(play(bar, f'meter = "{meter}"', bpm=bpm), 0x51)
    assert found == [[written], [], [], [], []]


@pytest.mark.parametrize(
    ("meter", "bar", "written"),
    [
        ("4/4", BAR, "04 02 18 08"),  # printed in the standard
        ("6/8", BAR_6_8, "06 03 24 08"),  # printed: 36 clocks, a dotted quarter
        ("3/4", BAR_6_8, "03 02 18 08"),
        ("2/2", BAR, "02 01 30 08"),
        ("9/8", "1 2 3 1 2 3 1 2 3", "09 03 24 08"),
        ("7/8", "1 2 3 1 2 3 1", "07 03 0c 08"),
    ],
)
def test_time_signature_is_that_of_the_standard(meter: str, bar: str, written: str) -> None:
    assert metas(play(bar, f'meter = "{meter}"'), 0x58)[0] == [written]


# Line of fifths (Gardner, Essentials of Music Theory); sf and mi of the key signature event
FIFTHS = {
    "major": ("Cb", "Gb", "Db", "Ab", "Eb", "Bb", "F", "C", "G", "D", "A", "E", "B", "F#", "C#"),
    "minor": ("Ab", "Eb", "Bb", "F", "C", "G", "D", "A", "E", "B", "F#", "C#", "G#", "D#", "A#"),
}
SIGNATURES = [
    (f"{tonic} {mode}", bytes([(place - 7) % 256, mode == "minor"]).hex(" "))
    for mode, tonics in FIFTHS.items()
    for place, tonic in enumerate(tonics)
]


@pytest.mark.parametrize(("key", "written"), SIGNATURES)
def test_key_signature_of_all_thirty_keys(key: str, written: str) -> None:
    performance = play("D4 E4 F4 G4 A4 G4 F4 E4", f'keys = ["{key}"]')
    assert metas(performance, 0x59) == [[written], [], [], [], []]


def test_harmonic_minor_has_the_signature_of_its_minor() -> None:
    assert metas(play(BAR, 'keys = ["D harmonic minor"]'), 0x59)[0] == ["ff 01"]
    assert len(SIGNATURES) == 30
    thirty = {str(key) for key in ALL_KEYS if key.mode in ("major", "minor")}
    assert thirty == dict(SIGNATURES).keys()
    assert all(isinstance(key, Key) for key in ALL_KEYS)


# Tick length in ms = 60000 / (tempo x ticks a quarter), computed from the definition
@pytest.mark.parametrize(
    ("bpm", "ticks", "milliseconds"),
    [(60, 480, 2.0833), (40, 480, 3.125), (208, 480, 0.601), (60, 960, 1.0417)],
)
def test_a_tick_lasts_as_long_as_the_standard_says(
    bpm: int, ticks: int, milliseconds: float
) -> None:
    clock = Clock.at(Fraction(bpm))
    assert clock.microseconds / 1000 / ticks == pytest.approx(milliseconds, abs=5e-5)


# --- channel messages


# Definition: value = cents x 8192 / (100 R) + 8192; MPE 1.1 works +7 semitones at 48 as 9387
@pytest.mark.parametrize(
    ("cents", "semitones", "value"),
    [
        (0, 12, 8192),
        (100, 2, 8192 + 4096),
        (100, 12, 8192 + 683),
        (100, 24, 8192 + 341),
        (100, 48, 8192 + 171),
        (700, 48, 9387),
        (200, 2, 16383),
        (-200, 2, 0),
        (1200, 12, 16383),
        (-1200, 12, 0),
    ],
)
def test_bend_values_are_those_of_the_formula(cents: float, semitones: int, value: int) -> None:
    assert bend_value(cents, semitones) == value


@pytest.mark.parametrize(
    ("semitones", "step_cents", "top_cents"),
    [
        (2, 0.02441, 199.976),
        (12, 0.14648, 1199.854),
        (24, 0.29297, 2399.707),
        (48, 0.58594, 4799.414),
    ],
)
def test_bends_decode_by_the_formula(semitones: int, step_cents: float, top_cents: float) -> None:
    assert bend_cents(8193, semitones) == pytest.approx(step_cents, abs=5e-6)
    assert bend_cents(16383, semitones) == pytest.approx(top_cents, abs=5e-4)
    assert bend_cents(8192, semitones) == 0
    assert bend_cents(0, semitones) == -100 * semitones


def test_the_bend_range_is_rpn_0_in_full_then_the_null_rpn_before_any_bend() -> None:
    # MIDI 1.0, RPN 0: 65 00, 64 00, 06 semitones, 26 00; null 65 7F, 64 7F
    bar = "p1: 1*4 p3: 3*4"  # an old-finger shift, with its ghost note sounded
    tracks = smf.read(midi_bytes(play(bar, 'drone = { on = "tonic and fifth" }'))).tracks
    bent = set()
    for channel in range(16):
        events = [e for track in tracks for e in track if e.kind != 0xF and e.channel == channel]
        if not any(event.kind == 0xE for event in events):
            continue
        bent.add(channel)
        before = [e.data for e in events[: [e.kind for e in events].index(0xE)] if e.kind == 0xB]
        rpn = [data[1:].hex(" ") for data in before if data[1] in (0x65, 0x64, 0x06, 0x26)]
        assert rpn == ["65 00", "64 00", "06 0c", "26 00", "65 7f", "64 7f"]
    assert bent == {0, 1, 2, 3, 4}


def test_a_bend_is_sent_with_its_low_seven_bits_first() -> None:
    # MIDI 1.0: En, LSB, MSB; centre 00 40
    tracks = smf.read(midi_bytes(play("1 1 1 1 1 1 1 1", 'keys = ["A minor"]'))).tracks
    first = next(event for event in tracks[1] if event.kind == 0xE)
    assert first.data[1:].hex(" ") == "00 40"  # E4 at A4 = 440 Hz is on its key


def test_wide_chains_send_a_wider_range_and_never_fine_steps() -> None:
    bar = "( E3*2 ~E4*2 ~E5*2 ~F6*2 )"
    tracks = smf.read(midi_bytes(play(bar, instrument="guitar"))).tracks
    data = [event.data for track in tracks for event in track if event.kind == 0xB]
    assert {each[2] for each in data if each[1] == 0x06} == {24}
    assert {each[2] for each in data if each[1] == 0x26} == {0}


def test_percussion_alone_uses_the_tenth_channel() -> None:
    # General MIDI: percussion is channel 10, index 9
    tracks = smf.read(midi_bytes(play(BAR))).tracks
    channels = [{event.channel for event in track if event.kind != 0xF} for track in tracks]
    assert channels == [set(), {0, 1}, {2}, {3, 4}, {CLICK_CHANNEL}]
    assert CLICK_CHANNEL == 9


# MIDI tuning standard: semitone, then a 14-bit part of 100 cents; frequencies as printed
@pytest.mark.parametrize(
    ("word", "hz", "digit"),
    [
        ("00 00 00", 8.17580, 1e-5),
        ("00 00 01", 8.17583, 1e-5),
        ("01 00 00", 8.6620, 1e-4),
        ("0C 00 00", 16.3516, 1e-4),
        ("3C 00 00", 261.6256, 1e-4),
        ("3D 00 00", 277.1826, 1e-4),
        ("44 7F 7F", 439.9984, 1e-4),
        ("45 00 00", 440.0000, 1e-4),
        ("45 00 01", 440.0016, 1e-4),
        ("78 00 00", 8372.0181, 1e-4),
        ("78 00 01", 8372.0476, 1e-4),
        ("7F 00 00", 12543.8540, 1e-4),
        ("7F 00 01", 12543.8982, 1e-4),
        ("7F 7F 7E", 13289.6566, 1e-4),
    ],
)
def test_keys_and_cents_agree_with_the_midi_tuning_words(
    word: str, hz: float, digit: float
) -> None:
    key, coarse, fine = bytes.fromhex(word)
    cents = (coarse * 128 + fine) * 100 / 16384
    half_digit_cents = 1731.234 * digit / 2 / hz
    assert key_cents(hz, key) == pytest.approx(cents, abs=half_digit_cents)


def test_mido_reads_the_same_length_from_the_file() -> None:
    performance = play(BAR, bpm=72)
    file = mido.MidiFile(file=io.BytesIO(midi_bytes(performance)))
    ticks = performance.length * performance.clock.ticks_per_quarter
    assert file.length == pytest.approx(float(ticks) * 833_333e-6 / 960, abs=1e-9)


TITLE = "Übung № 3 · 練習 ♭"


def test_every_text_but_the_title_is_printable_ascii_as_the_standard_advises() -> None:
    performance = play(BAR, title=TITLE)
    texts = [
        event.data[2:]
        for track in smf.read(midi_bytes(performance)).tracks
        for event in track
        if event.data[0] == 0xFF and 0x01 <= event.data[1] <= 0x0F  # text events: FF 01 to FF 0F
    ]
    title, *others = texts
    assert title == TITLE.encode("utf-8")
    assert len(others) > 5
    for text in others:
        assert text.decode("ascii").isprintable()


def test_the_title_is_read_by_those_who_know_utf_8_and_harms_none_who_take_it_for_latin_1(
    tmp_path: Path,
) -> None:
    """mido and pretty_midi read text as Latin-1, music21 hands it on as bytes."""
    path = tmp_path / "titled.mid"
    performance = play(BAR, title=TITLE)
    path.write_bytes(midi_bytes(performance))
    plain = play(BAR, title="Plain")
    (tmp_path / "plain.mid").write_bytes(midi_bytes(plain))

    assert mido.MidiFile(path, charset="utf-8").tracks[0].name == TITLE
    as_latin_1 = mido.MidiFile(path)
    assert as_latin_1.tracks[0].name.encode("latin-1").decode("utf-8") == TITLE
    assert as_latin_1.length == mido.MidiFile(tmp_path / "plain.mid").length

    sounds = [
        [(note.start, note.end, note.pitch) for each in read.instruments for note in each.notes]
        for read in map(pretty_midi.PrettyMIDI, map(str, (path, tmp_path / "plain.mid")))
    ]
    assert sounds[0] == sounds[1]

    raw = music21.midi.MidiFile()
    raw.open(path)
    raw.read()
    raw.close()
    names = music21.midi.MetaEvents.SEQUENCE_TRACK_NAME
    assert next(event.data for event in raw.tracks[0].events if event.type == names) == (
        TITLE.encode("utf-8")
    )
