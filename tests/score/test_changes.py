"""Meter and key may change within a passage, from one end of the chain to the other."""

from __future__ import annotations

import warnings
from dataclasses import replace
from fractions import Fraction

import pytest
from explained import printed
from playing import drill_of, midi_bytes, play
from smf import read

from playalong.drill.load import parse
from playalong.drill.origin import DrillError
from playalong.drill.pattern import Change
from playalong.drill.validation import check_drill
from playalong.engraving.musicxml import musicxml
from playalong.engraving.written_score import write_down
from playalong.instrument.shift import Kind
from playalong.music.key import parse_key
from playalong.music.meter import Meter
from playalong.performance.timing import timeline_of
from playalong.score.explanation import explain
from playalong.score.explanation_text import explanation_text
from playalong.score.model import Score
from playalong.score.writing import write

BAR = "p1: 2*8 | 3/4: G major: 2*6 | 6/8: 2*3 3*3"
SETTINGS = 'strings = ["D"]\nkeys = ["C major"]\npasses = 2\nclimb = 2'


@pytest.fixture(scope="module")
def score() -> Score:
    return write(drill_of(BAR, SETTINGS))


def test_bars_fill_the_meter_that_holds_in_them(score: Score) -> None:
    assert [(bar.start, bar.length) for bar in score.drill.bars] == [(0, 4), (4, 3), (7, 3)]
    with pytest.raises(DrillError, match="bar 2 has 8 eighths where 3/4 takes 6 eighths"):
        drill_of("1*8 | 3/4: 1*8")


def test_fingers_follow_the_key_that_holds(score: Score) -> None:
    assert [note.pitch.name for note in score.climb[0].notes] == ["F4", "F#4", "F#4", "G4"]


def test_written_pitches_follow_the_key_that_holds_and_climb_in_it() -> None:
    score = write(drill_of("F4*8 | D major: F4*8", 'climb = 2\nkeys = ["C major"]'))
    assert [note.pitch.name for note in score.notes] == ["F4", "F#4", "G4", "G4"]


def test_a_ghost_note_stands_where_the_key_of_its_landing_has_it() -> None:
    bar = "p1: 1*8 | {key}p2: 3*8"
    ghosts = []
    for key in ("", "G major: "):
        [_, note] = write(drill_of(bar.format(key=key), 'strings = ["D"]')).notes
        assert note.arrival is not None
        assert note.arrival.kind is Kind.OLD_FINGER
        ghosts.append(str(note.arrival.ghost))
    assert ghosts == ["F4", "F#4"]


def test_a_hand_is_named_by_the_key_that_holds_in_text_data_and_on_the_sheet() -> None:
    """First position on the cello's D string: closed in G major, open in A flat major."""
    bar, more = "D: p1: 1*8 | Ab major: 1*8", 'keys = ["G major"]'
    score = write(drill_of(bar, more, instrument="cello"))
    assert "position 1 (extended back)" in explanation_text(score)
    told = [note["extended"] for bar in explain(score)["bars"] for note in bar["notes"]]
    assert told == [None, "back"]
    named = [beside for _, beside in write_down(score).positions.values()]
    assert named == ["", "extended back"]


def test_every_pass_begins_in_the_meter_and_key_of_the_first_bar() -> None:
    performance = play(BAR, SETTINGS)
    told = [(str(bar.meter), bar.key.name) for bar in performance.bars[2:]]
    once = [("4/4", "C major"), ("3/4", "G major"), ("6/8", "G major")]
    assert told == once * 4


def test_the_click_follows_the_meter() -> None:
    performance = play(BAR, SETTINGS)
    start = performance.music_start
    here = [(c.at - start, c.accent) for c in performance.clicks if 0 <= c.at - start < 10]
    assert [at for at, _ in here] == [0, 1, 2, 3, 4, 5, 6, 7, Fraction(17, 2)]
    assert [at for at, accent in here if accent] == [0, 4, 7]


def test_the_timeline_counts_beats_in_the_meter_that_holds() -> None:
    timeline = timeline_of(play(BAR, SETTINGS))
    assert [len(bar.beats_seconds) for bar in timeline.bars[:5]] == [4, 4, 4, 3, 2]
    assert [note.beat for note in timeline.notes[1:5]] == [0, 0, 0, 1]


def test_midi_tells_every_change() -> None:
    file = read(midi_bytes(play("1*8 | 3/4: G major: 1*6", 'strings = ["D"]\npasses = 2')))
    conductor = file.tracks[0]
    quarter = file.division
    meters = [(e.tick / quarter, e.data[2:4]) for e in conductor if e.data[:2] == b"\xff\x58"]
    four, three = bytes([4, 2]), bytes([3, 2])  # the unit as a power of two
    assert meters == [(0, four), (12, three), (15, four), (19, three)]
    keys = [(e.tick / quarter, e.data[2:]) for e in conductor if e.data[:2] == b"\xff\x59"]
    assert keys == [(0, b"\0\0"), (12, b"\1\0"), (15, b"\0\0"), (19, b"\1\0")]


def test_music21_reads_the_changes_back(score: Score) -> None:
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        from music21 import converter

        text = musicxml(write_down(score)).decode()
        part = converter.parseData(text, format="musicxml").parts[0]
    once = [(0, "4/4"), (4, "3/4"), (7, "6/8")]
    again = [(at + 10, meter) for at, meter in once]
    meters = part.recurse().getElementsByClass("TimeSignature")
    assert [(m.getOffsetInHierarchy(part), m.ratioString) for m in meters] == once + again
    keys = part.recurse().getElementsByClass("KeySignature")
    found = [(k.getOffsetInHierarchy(part), k.sharps) for k in keys]
    assert found == [(0, 0), (4, 1), (10, 0), (14, 1)]
    names = [note.nameWithOctave for note in part.recurse().notes]
    assert names == [note.pitch.name for note in score.notes]


def test_explain_tells_what_changes() -> None:
    told = printed(
        'title = "T"\ninstrument = "violin"\nbar = "1*8 | 3/4: G major: 1*6 | 1*6"\npasses = 1'
    )
    assert "bar 2, 3/4, G major\n" in told
    assert "bar 3\n" in told


def test_bows_and_clicks_must_suit_every_meter() -> None:
    with pytest.raises(DrillError, match='bow: "half bar" does not fall on a beat in 3/4'):
        parse('title = "T"\ninstrument = "violin"\nbow = "half bar"\nbar = "1*8 | 3/4: 1*6"')


def test_the_same_changes_as_data_give_the_same_score(score: Score) -> None:
    plain = drill_of("p1: 2*8 | 2*8 | 2*3 3*5", SETTINGS)
    bars = drill_of(BAR, SETTINGS).pattern.bars
    changes = (
        Change(1, Meter(3, 4), parse_key("G major")),
        Change(2, Meter(6, 8)),
    )
    drill = replace(plain, pattern=replace(plain.pattern, bars=bars, changes=changes))
    check_drill(drill)
    assert write(drill).climb == score.climb


def test_a_change_outside_the_pattern_is_refused() -> None:
    drill = drill_of("1*8 | 1*8")
    lost = replace(drill.pattern, changes=(Change(2, Meter(3, 4)),))
    with pytest.raises(DrillError, match="changes at a bar line, not at place 2"):
        check_drill(replace(drill, pattern=lost))


def drones(more: str) -> list[tuple[float, float, tuple[float, ...]]]:
    timeline = timeline_of(play(BAR, f"{SETTINGS}\n{more}"))
    return [
        (each.from_seconds, each.to_seconds, tuple(round(hz, 3) for hz in each.hz))
        for each in timeline.drone
    ]


def test_the_drone_stays_on_the_first_tonic_unless_it_is_told_to_follow() -> None:
    [(_, _, hz)] = drones("")
    assert hz == (261.626,)
    passes = [(start, end, *hz) for start, end, hz in drones("drone.follow = true")]
    c, g = 261.626, 195.998  # C4 and G3 (check: equal temperament at A = 440)
    assert [hz for _, _, hz in passes] == [c, g] * 4
    assert [end for _, end, _ in passes[:-1]] == [start for start, _, _ in passes[1:]]
    # 8 seconds of count-in, then four passes of 10 quarters, of which 4 are in C major.
    assert [start for start, _, _ in passes[1:4]] == pytest.approx([12, 18, 22], abs=0.0015)


def test_a_drone_that_follows_stands_on_the_tonic_of_each_key_as_it_is_tuned() -> None:
    fifths = 'drone = { on = "tonic and fifth", fifth = "pure", follow = true }'
    rows = [hz for _, _, hz in drones(f'tuning.temperament = "just"\n{fifths}')]
    assert [round(high / low, 4) for low, high in rows] == [1.5] * 8
    assert len(set(rows)) == 2


@pytest.mark.parametrize("on", ["off", "open D", "A4"])
def test_a_drone_that_no_key_moves_cannot_follow(on: str) -> None:
    with pytest.raises(DrillError, match=f'drone.follow: the drone is "{on}", which no key moves'):
        drill_of(BAR, f'drone = {{ on = "{on}", follow = true }}')
