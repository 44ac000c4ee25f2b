"""The exported MIDI, read back: what it says is what the performance and the timeline say."""

from __future__ import annotations

import io
import math
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise

import mido
import pretty_midi
import pytest
import smf
from hypothesis import given, settings
from hypothesis import strategies as st
from playing import midi_bytes, play, written
from strategies import scores

from playalong.drill.stage import STAGES, Stage
from playalong.performance.clock import BLOCK_FRAMES, SAMPLE_RATE_HZ, block_of_tick
from playalong.performance.perform import perform
from playalong.performance.performance import Performance, Slide
from playalong.performance.timing import timeline_of
from playalong.score.model import Score

CONDUCTOR, GUIDE, GHOST, DRONE, CLICK = range(5)
ONE_PASS = 'note = "quarter"\npasses = 1\n'
PITCHED = (0, 1, 2, 3, 4)
ALLOWED_CONTROLLERS = {6, 7, 10, 11, 38, 72, 73, 91, 93, 100, 101}
HELD_CENTS = 100 * 12 / 8192 / 2 + 0.001  # half a bend step at range 12, and the timeline's digits
stages = st.sampled_from(
    (*STAGES.values(), Stage("own", ("soft", "full", "landings"), "lighter", "sounded"))
)


@dataclass(frozen=True)
class Note:
    channel: int
    key: int
    on: int  # ticks
    off: int


def channel_events(performance: Performance) -> Iterator[tuple[int, smf.Event]]:
    """Every channel message with the number of its track."""
    for number, track in enumerate(smf.read(midi_bytes(performance)).tracks):
        for event in track:
            if event.kind != 0xF:
                yield number, event


def notes(performance: Performance) -> list[Note]:
    """Notes in the order of their ends. A note without an end, or two at once, is an error."""
    open_at: dict[tuple[int, int], int] = {}
    found = []
    for _, event in channel_events(performance):
        if event.kind not in (8, 9):
            continue
        place = event.channel, event.data[1]
        if event.kind == 9 and event.data[2]:
            assert place not in open_at, "a key sounds twice at once on one channel"
            open_at[place] = event.tick
        else:
            found.append(Note(*place, open_at.pop(place), event.tick))
    assert not open_at, "a note never ends"
    return found


def of_track(performance: Performance, track: int, kind: int) -> list[smf.Event]:
    return [
        event
        for number, event in channel_events(performance)
        if (number, event.kind) == (track, kind)
    ]


def markers(performance: Performance) -> list[tuple[int, str]]:
    track = smf.read(midi_bytes(performance)).tracks[CONDUCTOR]
    return [(e.tick, e.data[2:].decode()) for e in track if e.data[:2] == b"\xff\x06"]


class Decoded:
    """Pitches as the standard decodes them, block by block: the last bend of a block holds."""

    def __init__(self, performance: Performance) -> None:
        self.clock = performance.clock
        self.notes = notes(performance)
        self.bends: dict[int, list[tuple[int, int]]] = {channel: [] for channel in range(16)}
        self.range = 0
        for _, event in channel_events(performance):
            if event.kind == 0xE:
                value = event.data[1] | event.data[2] << 7
                self.bends[event.channel].append((self.block(event.tick), value))
            if event.kind == 0xB and event.data[1] == 6:
                self.range = event.data[2]

    def block(self, tick: int) -> int:
        return block_of_tick(tick, self.clock.microseconds, self.clock.ticks_per_quarter)

    def cents(self, block: int, channels: tuple[int, ...]) -> float:
        """Cents above MIDI key 0 of the one note that sounds in a block."""
        (note,) = (
            n
            for n in self.notes
            if n.channel in channels and self.block(n.on) <= block < self.block(n.off)
        )
        value = [value for at, value in self.bends[note.channel] if at <= block][-1]
        return 100 * note.key + (value - 8192) * 100 * self.range / 8192


def cents_above_key_0(hz: float) -> float:
    return 6900 + 1200 * math.log2(hz / 440)


def block_at(seconds: float) -> int:
    return round(seconds * SAMPLE_RATE_HZ / BLOCK_FRAMES)


# --- read back by others


@settings(max_examples=12)
@given(scores(), st.integers(40, 208), stages)
def test_mido_and_pretty_midi_read_the_same_notes_and_bends(
    score: Score, bpm: int, stage: Stage
) -> None:
    performance = perform(score, bpm, stage)
    data, clock = midi_bytes(performance), performance.clock
    tick_seconds = clock.microseconds / 1_000_000 / clock.ticks_per_quarter
    ours = sorted((n.channel, n.key, n.on, n.off) for n in notes(performance))

    by_mido, open_at, bends = [], {}, []
    for track in mido.MidiFile(file=io.BytesIO(data)).tracks:
        tick = 0
        for message in track:
            tick += message.time
            if message.type == "note_on":
                open_at[message.channel, message.note] = tick
            elif message.type == "note_off":
                place = message.channel, message.note
                by_mido.append((*place, open_at.pop(place), tick))
            elif message.type == "pitchwheel":
                bends.append((message.pitch, tick))
    assert sorted(by_mido) == ours

    read = pretty_midi.PrettyMIDI(io.BytesIO(data))
    theirs = sorted((n.pitch, n.start, n.end) for i in read.instruments for n in i.notes)
    ticks = sorted((key, on, off) for _, key, on, off in ours)
    assert [key for key, _, _ in theirs] == [key for key, _, _ in ticks]
    for (_, start, end), (_, on, off) in zip(theirs, ticks, strict=True):
        assert start == pytest.approx(on * tick_seconds, abs=tick_seconds / 2)
        assert end == pytest.approx(off * tick_seconds, abs=tick_seconds / 2)
    # pretty_midi drops the bends of a channel on which no note sounds
    their_bends = sorted((b.pitch, b.time) for i in read.instruments for b in i.pitch_bends)
    assert len(their_bends) == len(bends)
    for (pitch, at), (bend, tick) in zip(their_bends, sorted(bends), strict=True):
        assert pitch == bend
        assert at == pytest.approx(tick * tick_seconds, abs=tick_seconds / 2)


@pytest.mark.parametrize("bpm", [30, 60, 208])
def test_tuplets_of_any_number_begin_within_a_ms_of_where_they_are_due(bpm: int) -> None:
    """By pretty_midi, an independent reader; sevenths and ninths exactly, elevenths beside
    thirteenths, which no one number of ticks holds, by rounding each once."""
    for counts in ((7, 9, 7), (7, 11, 13)):
        bar = " ".join(f"{1 + n % 2}*1/{count}" for count in counts for n in range(count)) + " 1"
        performance = play(f"p1: {bar}", ONE_PASS, bpm=bpm)
        read = pretty_midi.PrettyMIDI(io.BytesIO(midi_bytes(performance)))
        onsets = sorted({note.start for each in read.instruments[:2] for note in each.notes})
        due = [
            Fraction(n, count) + place for place, count in enumerate(counts) for n in range(count)
        ]
        seconds = [float((performance.music_start + at) * 60 / bpm) for at in (*due, 3)]
        near = [min(onsets, key=lambda onset: abs(onset - each)) for each in seconds]
        assert near == pytest.approx(seconds, abs=0.001)
        assert len(set(near)) == sum(counts) + 1


@settings(max_examples=40)
@given(scores(), st.integers(40, 208), stages)
def test_every_tone_click_and_drone_is_a_note_within_half_a_tick(
    score: Score, bpm: int, stage: Stage
) -> None:
    performance = perform(score, bpm, stage)
    found = notes(performance)
    ticks = performance.clock.ticks_per_quarter
    drone = performance.drone
    assert drone is not None
    for channels, spans in (
        ((0, 1), [(tone.start, tone.end) for tone in performance.guide]),
        ((2,), [(tone.start, tone.end) for tone in performance.ghosts]),
        ((3, 4), [(drone.start, drone.end)] * len(drone.hz)),
        ((9,), [(click.at, None) for click in performance.clicks]),
    ):
        played = sorted((n.on, n.off) for n in found if n.channel in channels)
        assert len(played) == len(spans)
        for (on, off), (start, end) in zip(played, sorted(spans), strict=True):
            assert abs(on - start * ticks) <= Fraction(1, 2)
            assert end is None or abs(off - end * ticks) <= Fraction(1, 2)


def check_held_notes(performance: Performance) -> None:
    decoded, told = Decoded(performance), timeline_of(performance).data()
    assert decoded.range == 12
    slides = [block_at(slide["from"]) for slide in told["slides"] if slide["sounds"]]
    for note in told["notes"]:
        if not note["sounds"] or note["role"] == "ghost":
            continue
        first = block_at(note.get("heard_from", note["from"]))
        last = min([s for s in slides if s > first] + [block_at(note["to"])]) - 1
        for block in (first, (first + last) // 2, last):
            off = decoded.cents(block, (0, 1)) - cents_above_key_0(note["hz"])
            assert abs(off) < HELD_CENTS
    for tone in performance.ghosts:
        off = decoded.cents(performance.clock.block(tone.start), (2,)) - cents_above_key_0(tone.hz)
        assert abs(off) < HELD_CENTS
    assert performance.drone is not None
    for hz in performance.drone.hz:
        block = performance.clock.block(performance.drone.start)
        assert abs(decoded.cents(block, (3, 4)) - cents_above_key_0(hz)) < HELD_CENTS


def check_slides(performance: Performance) -> int:
    """How many slides sound; each is where it should be at the middle of its every block."""
    decoded, clock = Decoded(performance), performance.clock
    sounding = [slide for slide in performance.slides if slide.sounds]
    for slide in sounding:
        first, last = clock.block(slide.start), clock.block(slide.end)
        for step in range(last - first):
            heard = decoded.cents(first + step, (0, 1))
            middle = cents_above_key_0(slide.glide.hz_at((step + 0.5) / (last - first)))
            # a tone that begins with its slide is tuned to the slide's start in its first block
            allowed = 0.15 + (in_block_change(slide, step, last - first) if step == 0 else 0)
            assert abs(heard - middle) < allowed
    return len(sounding)


def in_block_change(slide: Slide, step: int, steps: int) -> float:
    ends = [slide.glide.hz_at((step + edge) / steps) for edge in (0, 1)]
    return abs(cents_above_key_0(ends[1]) - cents_above_key_0(ends[0]))


@settings(max_examples=40)
@given(scores(), st.integers(40, 208), stages)
def test_bends_decode_to_the_pitches_of_the_timeline_and_slides_to_their_course(
    score: Score, bpm: int, stage: Stage
) -> None:
    performance = perform(score, bpm, stage)
    check_held_notes(performance)
    check_slides(performance)


@pytest.mark.parametrize("bow", ["note", "half bar", "bar"])
@pytest.mark.parametrize(
    ("bar", "more"),
    [
        ("p3: 1 1 p1: 1 1", ""),
        ("1 1 p3: 3 3", ""),
        ("1 1 p3: 3 3", 'slide.lead = "new finger"'),
        ("p3: 3 4 p1: 1 1", 'slide.lead = "new finger"'),
        ("2 2 p3: 1 1", ""),
        ("D: 1 1 A: p3: 2 2", ""),
        ("p1: 1 p2: 1 p4: 1 p7: 1", 'tuning = { a4 = 415, temperament = "just" }'),
    ],
)
def test_every_kind_of_shift_decodes_to_its_pitches(bar: str, more: str, bow: str) -> None:
    performance = play(bar, f'{ONE_PASS}bow = "{bow}"\n{more}', bpm=63)
    check_held_notes(performance)
    assert check_slides(performance) >= 1


def test_the_last_bend_of_a_slide_stands_on_the_beat_and_is_the_target() -> None:
    performance = play("( 1 1 p3: 1 ) 1", ONE_PASS, bpm=132)
    (slide,) = performance.slides
    beat = performance.clock.tick(slide.end)
    assert beat == 10 * 960
    bends = [event for event in of_track(performance, GUIDE, 0xE) if event.tick <= beat]
    assert bends[-1].tick == beat
    # G4 on the key of E4: 300 cents at range 12 are 2048 steps
    assert bends[-1].data[1] | bends[-1].data[2] << 7 == 8192 + 2048
    first = min(e.tick for e in bends if e.tick > performance.clock.tick(slide.start) - 3)
    step_ticks = performance.clock.tick_of_block(1) + 1
    assert abs(first - performance.clock.tick(slide.start)) <= step_ticks
    assert all(
        b.tick - a.tick <= step_ticks for a, b in pairwise(e for e in bends if e.tick >= first)
    )


def test_a_long_chain_of_slides_stays_in_tune_at_its_wider_range() -> None:
    performance = play("( E3*2 ~E4*2 ~E5*2 ~F6*2 )", instrument="guitar")
    decoded = Decoded(performance)
    half_step_cents = 100 * decoded.range / 8192 / 2
    assert decoded.range == 24
    for event in written(performance):
        off = decoded.cents(performance.clock.block(event.start), (0, 1))
        off -= cents_above_key_0(event.note.hz)
        assert abs(off) <= half_step_cents + 1e-9


# --- the order of messages


@settings(max_examples=25)
@given(scores(), st.integers(40, 208), stages)
def test_settings_come_before_any_bend_and_a_bend_right_before_its_note(
    score: Score, bpm: int, stage: Stage
) -> None:
    performance = perform(score, bpm, stage)
    for channel in PITCHED:
        events = [event for _, event in channel_events(performance) if event.channel == channel]
        kinds = [event.kind for event in events]
        if 0xE in kinds:
            settled = [e.data[1] for e in events[: kinds.index(0xE)] if e.kind == 0xB]
            assert {101, 100, 6, 38} <= set(settled)
            assert all(
                e.data[1] not in (6, 38, 100, 101)
                for e in events[kinds.index(0xE) :]
                if e.kind == 0xB
            )
        for place, event in enumerate(events):
            if event.kind == 9:
                before = events[place - 1]
                assert (before.kind, before.tick) == (0xE, event.tick)


@settings(max_examples=25)
@given(scores(), st.integers(40, 208), stages)
def test_nothing_wavers_and_clicks_keep_to_their_channel(
    score: Score, bpm: int, stage: Stage
) -> None:
    performance = perform(score, bpm, stage)
    for number, event in channel_events(performance):
        assert event.kind in (8, 9, 0xB, 0xC, 0xE)  # no pressure of key or channel
        assert event.kind != 0xB or event.data[1] in ALLOWED_CONTROLLERS
        assert (event.channel == 9) == (number == CLICK)
        if number == DRONE and event.kind == 0xE:
            assert performance.drone is not None
            assert event.tick == performance.clock.tick(performance.drone.start)


def controls(performance: Performance, controller: int) -> list[tuple[int, int, int]]:
    """Tick after the settings, channel and value of one controller in the guide."""
    events = of_track(performance, GUIDE, 0xB)
    return [(e.tick, e.channel, e.data[2]) for e in events if e.data[1] == controller and e.tick]


def test_a_slurred_landing_begins_softly_and_the_old_tone_rings_over() -> None:
    # one bar of four quarters: the first two in one bow, then separate
    performance = play("( 1 3 ) 1 3", ONE_PASS)
    given_on, given_off, start = 4 * 960, 6 * 960, 8 * 960
    assert controls(performance, 73) == [
        (given_on, 0, 64),
        (start, 1, 64),
        (start + 960, 0, 0),  # slurred
        (start + 1920, 1, 64),
        (start + 2880, 0, 64),
    ]
    assert controls(performance, 72) == [
        (given_off, 0, 64),
        (start + 960, 1, 100),  # into the slur
        (start + 1920, 0, 64),
        (start + 2880, 1, 64),
        (start + 3840, 0, 64),
    ]


def test_a_slide_dips_and_comes_back_a_full_one_a_little_and_a_lighter_one_by_6_db() -> None:
    def levels(stage: str) -> list[int]:
        performance = play("( 1 1 p3: 1 ) 1", ONE_PASS, stage=stage)
        ticks = (performance.clock.tick(s.start) for s in performance.slides if s.sounds)
        first = min(ticks)
        end = first + 2 * 960
        return [value for tick, _, value in controls(performance, 11) if first < tick < end]

    for stage, dip_db in (("listen", 1.5), ("answer", 6)):
        dip = levels(stage)
        assert min(dip) == round(127 * 10 ** (-dip_db / 40))
        assert dip[-1] == 127


def test_guide_tones_take_two_channels_in_turn() -> None:
    performance = play("1 2 3 4", ONE_PASS)
    channels = [event.channel for event in of_track(performance, GUIDE, 9)]
    assert channels == [0, 1, 0, 1, 0]


@pytest.mark.parametrize(
    ("instrument", "program"), [("violin", 40), ("viola", 41), ("cello", 42), ("bass", 43)]
)
def test_every_voice_has_its_general_midi_program(instrument: str, program: int) -> None:
    bar = {"cello": "C3*8", "bass": "C3*8"}.get(instrument, "1*8")
    performance = play(bar, instrument=instrument)
    programs = [
        {(event.channel, event.data[1]) for event in of_track(performance, track, 0xC)}
        for track in range(5)
    ]
    assert programs[GUIDE] == {(0, program), (1, program)}
    assert programs[GHOST] == {(2, 79)}
    assert programs[DRONE] == {(3, 20), (4, 20)}


def test_a_soft_guide_and_its_ghosts_are_quieter_and_a_ghost_is_lighter_than_the_guide() -> None:
    def velocities(level: str) -> tuple[int, int]:
        more = f'{ONE_PASS}[stage.own]\nguide = ["{level}"]'
        performance = play("1 1 p3: 3 3", more, stage="own")
        (guide,) = {event.data[2] for event in of_track(performance, GUIDE, 9)[1:]}
        (ghost,) = {event.data[2] for event in of_track(performance, GHOST, 9)}
        return guide, ghost

    full, soft = velocities("full"), velocities("soft")
    assert soft[0] < full[0]
    assert soft[1] < full[1]
    assert full[1] < full[0]


# --- clicks


def test_clicks_are_high_on_one_low_elsewhere_and_sweeps_at_both_ends() -> None:
    performance = play("1 2 3 4", ONE_PASS)
    keys = [event.data[1] for event in of_track(performance, CLICK, 9)]
    assert keys == [75] * 4 + [76, 77, 77, 77] * 2 + [75] * 2
    ticks = [event.tick for event in of_track(performance, CLICK, 9)]
    assert ticks == [960 * beat for beat in range(14)]


# --- conductor


def test_a_marker_stands_at_every_bar_and_pass_and_in_the_gap() -> None:
    performance = play("1 2 3 4 | 1 2 3 4", 'note = "quarter"\nclimb = 2\ngap = 1')
    bars = [bar * 4 * 960 for bar in range(14)]
    assert markers(performance) == list(
        zip(
            bars,
            (
                *("count-in 1", "count-in 2"),
                *("bar 1, pass 1", "bar 2, pass 1", "gap", "bar 1, pass 2", "bar 2, pass 2", "gap"),
                *("bar 3, pass 1", "bar 4, pass 1", "gap", "bar 3, pass 2", "bar 4, pass 2"),
                "close",
            ),
            strict=True,
        )
    )


def test_the_conductor_bears_the_title_and_the_tracks_their_names() -> None:
    performance = play("1 2 3 4", ONE_PASS, title="Übung № 3 · 練習")
    tracks = smf.read(midi_bytes(performance)).tracks
    names = [e.data[2:].decode() for track in tracks for e in track if e.data[:2] == b"\xff\x03"]
    assert names == ["Übung № 3 · 練習", "guide", "ghost", "drone", "click"]


def test_the_conductor_holds_tempo_meter_and_key_at_the_start() -> None:
    performance = play("1 2 3 4", ONE_PASS + 'keys = ["Bb major"]', bpm=72)
    track = smf.read(midi_bytes(performance)).tracks[CONDUCTOR]
    start = {e.data.hex(" ") for e in track if e.tick == 0 and e.data[1] in (0x51, 0x58, 0x59)}
    assert start == {"ff 51 0c b7 35", "ff 58 04 02 18 08", "ff 59 fe 00"}


# --- laws


@pytest.mark.parametrize("stage", ["check", "alone"])
def test_tracks_of_one_stage_up_the_ladder_differ_in_their_tempo_only(stage: str) -> None:
    def tracks(bpm: int) -> list[list[tuple[int, bytes]]]:
        performance = play("1 2 3 1 p3: 1 2 p1: 2 1", bpm=bpm, stage=stage)
        read = smf.read(midi_bytes(performance)).tracks
        return [[(e.tick, e.data) for e in track if e.data[:2] != b"\xff\x51"] for track in read]

    assert tracks(60) == tracks(63) == tracks(80)


def test_the_same_performance_gives_the_same_bytes() -> None:
    one, two = (midi_bytes(play("1 2 p3: 3 4", ONE_PASS)) for _ in range(2))
    assert one == two
