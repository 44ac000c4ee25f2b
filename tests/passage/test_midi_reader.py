"""A MIDI file gives the bars of a score, as far as MIDI knows them; what it lacks is told."""

from __future__ import annotations

import time
from fractions import Fraction
from pathlib import Path

import mido
import pytest
from midi_scores import Struck, key_signature, meta, meter, midi, row, track
from score_truth import CORPUS, midi_agreement

from playalong.music.key import parse_key
from playalong.music.meter import Meter
from playalong.passage.midi_file import MOST_BYTES
from playalong.passage.midi_reader import LACKS, MOVED
from playalong.passage.model import Part, PassageError
from playalong.passage.passage import PASSAGE_FILE, passage_of
from playalong.passage.reading import all_parts, part_of
from playalong.passage.wishes import Asked

HALF, THIRD = Fraction(1, 2), Fraction(1, 3)
SCALE = (67, 69, 71, 72)


def only(data: bytes) -> Part:
    (part,) = all_parts(data)
    return part


def heads(part: Part) -> list[list[tuple[str, Fraction, Fraction]]]:
    return [
        [(each.pitch.name, each.at, each.length) for each in bar.notes if each.pitch]
        for bar in part.bars
    ]


def names(keys: list[int], key: str) -> list[str]:
    data = midi(track(row(keys)))
    bars = part_of(data, lambda found: found[0], parse_key(key)).bars
    return [each.pitch.name for bar in bars for each in bar.notes if each.pitch]


def test_bytes_packed_by_hand_are_read_as_the_standard_says() -> None:
    """Standard MIDI Files 1.0: a header, a track of 3/4 in D minor at 100, running status."""
    body = bytes.fromhex(
        "00 FF 58 04 03 02 18 08  00 FF 59 02 FF 01  00 FF 51 03 09 27 C0"
        "00 90 46 40  60 46 00  00 3D 40  60 3D 00  00 FF 2F 00"
    )
    head = bytes.fromhex("4D 54 68 64 00 00 00 06 00 00 00 01 00 60 4D 54 72 6B 00 00 00")
    part = only(head + bytes([len(body)]) + body)
    (bar,) = part.bars
    assert heads(part) == [[("Bb4", 0, 1), ("C#4", 1, 1)]]
    assert (bar.meter, bar.signature, bar.mode, bar.tempo) == (Meter(3, 4), -1, "minor", 100)


def test_sixteenths_and_triplets_stand_where_they_were_written() -> None:
    notes = [*row([69] * 4, 0.25), *(Struck(1 + n * THIRD, THIRD, 71) for n in range(3))]
    (bar,) = heads(only(midi(track(notes))))
    assert [(at, length) for _, at, length in bar] == [
        *((Fraction(n, 4), Fraction(1, 4)) for n in range(4)),
        *((1 + n * THIRD, THIRD) for n in range(3)),
    ]


def test_onsets_off_the_grid_are_laid_on_it_and_told_with_their_bar() -> None:
    late = [Struck(Fraction(n) + Fraction(n == 5, 20), Fraction(1), 69) for n in range(8)]
    part = only(midi(track(late)))
    assert [[at for _, at, _ in bar] for bar in heads(part)] == [[0, 1, 2, 3]] * 2
    assert [bar.told for bar in part.bars] == [(), (MOVED,)]


@pytest.mark.parametrize("length", [1, 0.5, 0.25, THIRD])
def test_what_is_played_within_fifteen_milliseconds_is_read_as_it_was_meant(
    length: float | Fraction,
) -> None:
    """At 100 quarters a minute; three sigma of chance within 15 ms."""
    data = midi(track(row([69, 71] * 12, length, 0.9), jitter_quarters=0.015 * 100 / 60 / 3))
    starts = [4 * n + at for n, bar in enumerate(heads(only(data))) for _, at, _ in bar]
    assert starts == [n * Fraction(length) for n in range(24)]


def test_a_note_let_go_of_early_lasts_to_the_next_and_a_rest_stays_a_rest() -> None:
    notes = [
        *row([69, 71, 72], 1, 0.9),
        Struck(Fraction(3), HALF, 74),
        Struck(Fraction(4), HALF, 76),
    ]
    (first, second) = heads(only(midi(track(notes))))
    assert [length for _, _, length in first] == [1, 1, 1, HALF]
    assert second == [("E5", 0, HALF)]


def test_a_note_over_a_bar_line_is_tied_there() -> None:
    part = only(midi(track([Struck(Fraction(2), Fraction(4), 69)])))
    (one,), (two,) = (bar.notes for bar in part.bars)
    assert (one.at, one.length, one.tie_to_next, one.tie_from_last) == (2, 2, True, False)
    assert (two.at, two.length, two.tie_to_next, two.tie_from_last) == (0, 2, False, True)


def test_a_note_outside_the_key_is_named_by_where_it_goes() -> None:
    assert names([69, 70, 71, 70, 69], "C major") == ["A4", "A#4", "B4", "Bb4", "A4"]
    assert names([68, 69, 66, 70], "D minor") == ["G#4", "A4", "F#4", "Bb4"]
    assert names([70, 75], "F# major") == ["A#4", "D#5"]
    assert names([70, 75], "Gb major") == ["Bb4", "Eb5"]


def test_meters_keys_and_tempi_hold_from_where_they_stand() -> None:
    changes = [meter(3, 4), meter(6, 8, 3), key_signature("Bb"), key_signature("G", 6)]
    tempo = meta("set_tempo", 3, tempo=600_000)
    part = only(midi(track(row([69] * 9), *changes, tempo)))
    assert [(bar.meter, bar.signature, bar.tempo, bar.length) for bar in part.bars] == [
        (Meter(3, 4), -2, None, 3),
        (Meter(6, 8), -2, 100, 3),
        (Meter(6, 8), 1, None, 3),
    ]


def test_a_part_is_a_track_and_channel_called_by_name_or_program() -> None:
    viola = mido.Message("program_change", program=41, channel=2)
    parts = all_parts(
        midi(
            track([], meta("track_name", name="A Test"), meter(3, 4)),
            track(row(SCALE), meta("track_name", name="Violin 1"), channel=1),
            track(row(SCALE), viola, channel=2),
        )
    )
    assert [str(each.name) for each in parts] == ["1 Violin 1", "2 viola"]
    assert {each.title for each in parts} == {"A Test"}
    both = track(row(SCALE))
    both += track(row(SCALE), channel=1)
    assert len(all_parts(midi(both, kind=0))) == 2


def test_drums_are_no_pitches() -> None:
    part = only(midi(track(row([36, 38]), channel=9)))
    assert [(each.pitch, each.is_unpitched) for each in part.bars[0].notes] == [(None, True)] * 2


def test_the_key_is_asked_for_where_the_file_has_none(tmp_path: Path) -> None:
    path = tmp_path / "tune.mid"
    path.write_bytes(midi(track(row(SCALE), meta("track_name", name="Violin"))))
    with pytest.raises(PassageError, match='say its --key, like --key "G major"'):
        passage_of(path, Asked())
    made = passage_of(path, Asked(key=parse_key("G major")))
    assert made.told == (LACKS,)
    assert "MIDI has no letters" in made.files[PASSAGE_FILE]


@pytest.mark.parametrize("gate", [1, 0.95])
def test_what_music21_knows_of_a_score_comes_back_from_midi(gate: float) -> None:
    """Onsets and keys of all notes, lengths of all, letters of at least 99 in 100."""
    found = midi_agreement(CORPUS / "mozart/k156/movement4.mxl", gate)
    assert found.onsets == found.notes
    assert found.lengths == found.notes
    assert found.letters >= 0.99 * found.notes


WHOLE = midi(track(row(SCALE)))
LONG = midi(track([Struck(Fraction(0), Fraction(400_000), 60), *row([61], 1)]))


@pytest.mark.parametrize(
    ("data", "message"),
    [
        (WHOLE[: len(WHOLE) // 2], "breaks off or is damaged"),
        (b"MThd", "breaks off or is damaged"),
        (b"MThd" + bytes(range(256)) * 40, "breaks off or is damaged"),
        (WHOLE[:14] + b"MTrk\xff\xff\xff\xff" + WHOLE[22:], "breaks off or is damaged"),
        (midi(track([])), "holds no notes"),
        (WHOLE[:8] + b"\0\2" + WHOLE[10:], "type 2, one song after another"),
        (WHOLE[:12] + b"\xe7\x28" + WHOLE[14:], "counts in film frames"),
        (WHOLE + bytes(MOST_BYTES), "more than 384 kB"),
        (LONG, "more bars than any piece"),
        (midi(track([Struck(Fraction(0), Fraction(9000), n) for n in range(128)])), "holds more"),
    ],
)
def test_a_hostile_midi_file_is_refused_in_one_sentence(data: bytes, message: str) -> None:
    began = time.process_time()
    with pytest.raises(PassageError, match=message) as refused:
        all_parts(data)
    assert "\n" not in str(refused.value)
    assert time.process_time() - began < 2


def test_a_midi_file_of_too_many_notes_is_refused_in_time() -> None:
    body = b"\x00\x90\x3c\x40" + b"\x00\x3c\x40\x01\x3c\x00" * 60_000 + b"\x00\xff\x2f\x00"
    data = WHOLE[:14] + b"MTrk" + len(body).to_bytes(4, "big") + body
    began = time.process_time()
    with pytest.raises(PassageError, match="more than 40,000 notes; export fewer parts"):
        all_parts(data)
    assert time.process_time() - began < 2
