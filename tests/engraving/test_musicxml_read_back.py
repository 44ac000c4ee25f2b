"""What other programs read from our MusicXML is what the drill says."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from itertools import groupby

import pytest
from hypothesis import given, settings
from playing import drill_of
from sheet_readers import Head, ReadBack, by_music21, by_partitura
from strategies import scores

from playalong.drill.load import load
from playalong.drill.stage import STAGES
from playalong.engraving.musicxml import musicxml
from playalong.engraving.written_score import write_down
from playalong.instrument.catalogue import INSTRUMENTS
from playalong.instrument.position import THUMB
from playalong.instrument.shift import Kind
from playalong.music.pitch import Pitch
from playalong.performance.perform import perform
from playalong.score.model import Note, Score
from playalong.score.writing import write
from playalong.shipped import demo_folder

FEW = settings(max_examples=40)
DEMOS = sorted(demo_folder().glob("*.toml"))


def demo_scores(path):
    drill = load(path)
    return [write(drill, *pair) for pair in drill.pairs]


def written_start(score: Score, note: Note) -> Fraction:
    """Where a note stands from the first bar line: each starting position with its click bars."""
    stride = score.pass_length + score.drill.gap * score.drill.meter.bar
    return (note.stand - 1) * stride + note.start


def expected(score: Score) -> ReadBack:
    notes = score.notes
    starts = [written_start(score, note) for note in notes]
    read = ReadBack()
    for start, note in zip(starts, notes, strict=True):
        read.notes.append(Head(start, note.length, note.pitch.name, note.finger))
    for number, note in enumerate(notes[1:], 1):
        old, before = notes[number - 1], starts[number - 1]
        if not note.heard:
            continue
        quarter = before + old.length * Fraction(3, 4)  # a ghost note takes the last quarter
        travel = note.arrival
        if travel.kind in (Kind.OLD_FINGER, Kind.ACROSS_STRINGS):
            read.slides.add((before, quarter))
        elif travel.kind is Kind.NEW_FINGER:
            read.slides.add((quarter, starts[number]))
        else:
            read.slides.add((before, starts[number]))
            continue
        read.ghosts.append(Head(quarter, old.length / 4, travel.ghost.name, travel.finger))
    placed = zip(starts, notes, strict=True)
    for _, bow in groupby(placed, key=lambda each: each[1].bow):
        run: list[tuple[Fraction, Note]] = []
        for start, note in [*bow, (None, None)]:
            if note is not None and (not run or run[-1][1].end == note.start):
                run.append((start, note))
                continue
            if len(run) > 1:
                read.slurs.add((run[0][0], run[-1][0]))
            run = [(start, note)]
    return read


def check_music21(score: Score) -> None:
    read, wanted = by_music21(musicxml(write_down(score))), expected(score)
    assert read.notes == wanted.notes
    assert read.ghosts == wanted.ghosts
    assert read.slurs == wanted.slurs
    assert read.slides == wanted.slides


def on_the_staff(score: Score, heads: list[Head]) -> list[Head]:
    """As partitura reads them: written pitches, and no thumb."""
    read = score.instrument.as_written
    return [
        replace(
            head,
            pitch=read(Pitch.of(head.pitch)).name,
            finger=None if head.finger == THUMB else head.finger,
        )
        for head in heads
    ]


def check_partitura(score: Score, folder) -> None:
    read, wanted = by_partitura(musicxml(write_down(score)), folder), expected(score)
    assert read.notes == on_the_staff(score, wanted.notes)
    assert read.ghosts == on_the_staff(score, wanted.ghosts)
    assert read.slurs == wanted.slurs


@FEW
@given(scores())
def test_music21_reads_back_the_pitches_onsets_fingers_slurs_and_slides_of_any_drill(score):
    check_music21(score)


@FEW
@given(scores())
def test_partitura_reads_back_the_pitches_onsets_fingers_and_slurs_of_any_drill(
    tmp_path_factory, score
):
    check_partitura(score, tmp_path_factory.mktemp("read"))


@pytest.mark.parametrize("path", DEMOS, ids=lambda path: path.stem)
def test_both_readers_agree_with_the_demo_drills(path, tmp_path):
    for score in demo_scores(path):
        check_music21(score)
        check_partitura(score, tmp_path)


@FEW
@given(scores())
def test_played_out_repeats_are_the_timeline(score):
    played = perform(score, 60, STAGES["alone"])
    wanted = [
        (each.start - played.music_start + note.start, note.pitch.name)
        for each in played.passes
        for note in each.notes
    ]
    read = by_music21(musicxml(write_down(score)), expanded=True)
    assert [(head.start, head.pitch) for head in read.notes] == wanted


@pytest.mark.parametrize("name", sorted(INSTRUMENTS))
def test_every_instrument_is_read_at_its_sounding_pitch(name):
    low = INSTRUMENTS[name].lowest
    read = INSTRUMENTS[name].as_written(Pitch(low.index + 7))
    name_read = Pitch(read.index).name
    drill = drill_of(f"{name_read}*8", 'keys = ["C major"]', instrument=name)
    string = INSTRUMENTS[name].string_names[-1] if drill.strings else None
    score = write(drill, drill.keys[0], string)
    [head] = by_music21(musicxml(write_down(score))).notes
    assert head.pitch == score.notes[0].pitch.name
    assert score.notes[0].pitch.index == low.index + 7
