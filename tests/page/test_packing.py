"""What the page is given can be read back: a reader written from the packing's own description."""

from __future__ import annotations

from bisect import bisect
from dataclasses import replace
from itertools import accumulate

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pages import Reader, seconds, unpacked
from playing import play_drill
from strategies import scores

from playalong.drill.stage import STAGES, Stage
from playalong.music.temperament import cents
from playalong.page.curves import Shapes
from playalong.page.packing import Packing, written_notes
from playalong.page.tables import LETTERS, Table, packed, steps
from playalong.performance.perform import perform
from playalong.performance.timeline import TimelineSlide
from playalong.performance.timing import timeline_of
from playalong.score.writing import write

TIMES = {"abs": 0.51e-6}  # seconds, as a timeline writes them
OWN = Stage("own", ("soft", "full", "silent"), "lighter", "sounded")
UNEVEN = Stage("uneven", ("landings", "full"), "full", "light")


def check_bars(reader, timeline):
    assert len(reader.bars) == len(timeline.bars)
    for number, bar in enumerate(timeline.bars):
        beats = reader.beats[reader.firsts[number] : reader.firsts[number + 1] + 1]
        assert [seconds(each) for each in beats] == pytest.approx(
            [*bar.beats_seconds, bar.to_seconds], **TIMES
        )
        assert (reader.bars[number], reader.passes[number]) == (bar.bar, bar.pass_number)
        assert reader.upbeats[number] == bar.beat


def check_notes(reader, timeline, written):
    notes = [note for note in timeline.notes if note.pass_number]
    assert len(reader.starts) == len(notes)
    for n, note in enumerate(notes):
        same = written[reader.numbers[n]]
        assert (same.bar, same.beat, same.pitch) == (note.bar, note.beat, note.pitch)
        start, length = reader.starts[n], reader.lengths[n]
        late = note.heard_from_seconds
        assert seconds(start) == pytest.approx(note.from_seconds, **TIMES)
        assert seconds(start + length) == pytest.approx(note.to_seconds, **TIMES)
        assert seconds(start + reader.late[n]) == pytest.approx(
            note.from_seconds if late is None else late, **TIMES
        )
        assert reader.sounds[n] == ("l" if late is not None else "s" if note.sounds else "-")


def check_slides(reader, timeline):
    notes = [note for note in timeline.notes if note.pass_number]
    sliding = [(n, note) for n, note in enumerate(notes) if note.slide and note.slide.curve]
    assert reader.landings == [n for n, _ in sliding]
    for n, (place, note) in enumerate(sliding):
        slide, ghost = note.slide, note.ghost
        start = reader.starts[place] - reader.leads[n]
        length = slide.to_seconds - slide.from_seconds
        assert seconds(start) == pytest.approx(slide.from_seconds, **TIMES)
        assert seconds(start + reader.durations[n]) == pytest.approx(slide.to_seconds, **TIMES)
        assert (reader.fingers[n], reader.heard[n]) == (slide.finger, slide.sounds)
        held = ghost is not None and ghost.to_seconds > ghost.from_seconds
        assert reader.ghosts[n] == (1 + held if ghost and ghost.sounds else 0)
        for at, hz in slide.curve:
            expected = cents(hz, timeline.tonic_hz)
            share = (at - slide.from_seconds) / length
            assert reader.cents(n, share) == pytest.approx(expected, abs=1.0)


def check_turns(reader, timeline):
    """Each bar says what the guide does in the whole of its pass."""
    notes = [note for note in timeline.notes if note.pass_number]
    for n, note in enumerate(notes):
        if note.grace:  # it may begin in the bar before
            continue
        bar = bisect([reader.beats[first] for first in reader.firsts[:-1]], reader.starts[n]) - 1
        assert "-ls".index(reader.turns[bar]) >= "-ls".index(reader.sounds[n])
        if note.sounds and note.heard_from_seconds is None:
            assert reader.turns[bar] == "s"
    lead = [turn for number, turn in zip(reader.bars, reader.turns, strict=True) if not number]
    assert set(lead) == {"-"}


def check(packing_data, number, timeline, written):
    reader = Reader(packing_data, number)
    check_bars(reader, timeline)
    check_notes(reader, timeline, written)
    check_slides(reader, timeline)
    check_turns(reader, timeline)
    first = [note for note in timeline.notes if note.is_given]
    told = [time for note in first for time in (note.from_seconds, note.to_seconds)]
    assert [sum(reader.given[: n + 1]) for n in range(len(reader.given))] == pytest.approx(
        told, **TIMES
    )


@settings(max_examples=25, deadline=None)
@given(scores(), st.lists(st.integers(40, 208), min_size=2, max_size=3))
def test_every_timeline_is_read_back_from_the_tables_that_all_share(score, tempi):
    """Notes, bars and beats to the digit; slides within a cent, at every point of their curve."""
    packing, taken = Packing(), []
    bars = score.drill.bars[-1].number
    written = None
    for bpm in tempi:
        for stage in (*STAGES.values(), OWN, UNEVEN):
            timeline = timeline_of(perform(score, bpm, stage))
            written = written or written_notes(timeline)
            taken.append((packing.number(timeline, written, bars), timeline))
    data = packing.data()
    for number, timeline in taken:
        check(data, number, timeline, list(written.values()))


@settings(max_examples=10, deadline=None)
@given(scores(), st.sampled_from(tuple(STAGES.values())))
def test_a_part_of_a_climb_counts_on_in_the_notes_of_the_whole(score, stage):
    packing, bars = Packing(), score.drill.bars[-1].number
    written = written_notes(timeline_of(perform(score, 60, stage)))
    last = len(score.climb) - 1
    part = timeline_of(perform(score, 60, stage, stands=slice(last, last + 1)))
    number = packing.number(part, written, bars)
    check(packing.data(), number, part, list(written.values()))


def test_a_track_without_a_given_note_has_none_in_the_page(drill):
    timeline = timeline_of(play_drill(drill, 160))
    bare = replace(timeline, notes=tuple(n for n in timeline.notes if not n.is_given))
    packing, written = Packing(), written_notes(timeline)
    with_it, without = (packing.number(each, written, 2) for each in (timeline, bare))
    data = packing.data()
    check(data, without, bare, list(written.values()))
    assert Reader(data, without).given == []
    assert len(Reader(data, with_it).given) == 2


def test_the_stages_of_a_tempo_share_their_times_in_every_key(drill):
    packing, grids = Packing(), set()
    for key in drill.keys:
        for stage in drill.stages:
            timeline = timeline_of(perform(write(drill, key, "D"), 160, stage))
            number = packing.number(timeline, written_notes(timeline), 2)
            grids.add(packing.data()["musics"][number][0])
    assert len(grids) == 1


# --- columns


@given(st.lists(st.integers(-300, 300)))
def test_a_column_is_read_back_whatever_stands_in_it(values):
    assert unpacked(packed(values)) == values
    assert list(accumulate(steps(values))) == values


def test_a_column_takes_a_letter_for_each_value_that_returns():
    assert packed([7, None, 7, 7, None, 7, 7, 7]) == [[7, None], "#$##$###"]
    assert packed(range(100)) == [list(range(100))]
    assert not set(LETTERS) & set('<"\\')
    assert len(set(LETTERS)) == len(LETTERS) == 90


# --- curves


def slide_of(length, curve):
    """A slide of some seconds with a point every 8 ms of `curve`, in cents above 300 Hz."""
    times = [*(0.008 * n for n in range(int(length / 0.008))), length]
    points = tuple((at, 300 * 2 ** (curve(at / length) / 1200)) for at in times)
    return TimelineSlide(
        0.0, length, "same finger", 1, "D", points[0][1], points[-1][1], None, True, points
    )


def test_slides_of_one_interval_share_a_shape_at_any_tempo_and_from_any_place():
    columns = Table()
    shapes = Shapes(columns)
    lengths = (0.6, 0.45, 0.311, 0.2)
    numbers = {
        shapes.number(slide_of(length, lambda share: 400 * share**2 * (3 - 2 * share)))
        for length in lengths
    }
    assert len(numbers) == 1
    assert shapes.number(slide_of(0.6, lambda share: -400 * share**2 * (3 - 2 * share))) == 1
    assert len(columns.values) == 2


@pytest.mark.parametrize("reach", [50, 700, 2400])
@pytest.mark.parametrize("length", [0.04, 0.11, 0.6])
def test_a_curve_of_any_course_is_followed_within_half_a_cent(length, reach):
    """Also where it is nobody's minimum jerk: it leaves slowly, and arrives at full speed."""
    columns = Table()
    slide = slide_of(length, lambda share: reach * share**3)
    shape = list(accumulate(unpacked(columns.values[Shapes(columns).number(slide)])))
    for at, hz in slide.curve:
        share = at / length * (len(shape) - 1)
        low = min(int(share), len(shape) - 2)
        tenths = shape[low] + (shape[low + 1] - shape[low]) * (share - low)
        assert tenths / 10 == pytest.approx(cents(hz, 300), abs=0.5)
