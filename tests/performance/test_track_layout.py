"""Count-in, click, drone and close: the same in every stage."""

from __future__ import annotations

from fractions import Fraction

import pytest
from playing import drill_of, play, play_drill

from playalong.drill.stage import STAGES, Stage
from playalong.music.pitch import Pitch
from playalong.performance.clock import Clock
from playalong.performance.performance import Performance
from playalong.performance.track_layout import TrackLayout

BAR = "1 2 3 1 p3: 1 2 p1: 2 1"
HALF = Fraction(1, 2)


def music_clicks(performance: Performance) -> list[tuple[Fraction, bool]]:
    """Clicks of the music: quarters from its first beat, and whether they are accented."""
    inside = (c for c in performance.clicks if not c.count_in and not c.sweep)
    return [(click.at - performance.music_start, click.accent) for click in inside]


# --- count-in


@pytest.mark.parametrize("stage", STAGES)
@pytest.mark.parametrize(
    ("count_in", "drone_start", "given_end"), [(1, 2, 3), (2, 4, 6), (3, 8, 10), (4, 12, 14)]
)
def test_the_drone_and_the_given_note_enter_in_the_last_bar_of_the_count_in(
    count_in: int, drone_start: int, given_end: int, stage: str
) -> None:
    """Alone in its bar the click shares it: the drone enters halfway, the note stops before 1."""
    performance = play(BAR, f"click = {{ count_in = {count_in} }}", stage=stage)
    assert performance.music_start == 4 * count_in
    assert performance.drone is not None
    assert performance.drone.start == drone_start
    given = performance.notes[0]
    assert (given.start, given.end, given.is_given) == (drone_start, given_end, True)
    assert given.note.pitch.name == "E4"
    first = performance.guide[0]
    assert (first.start, first.end, first.level) == (drone_start, given_end, "soft")


@pytest.mark.parametrize(
    ("meter", "bar", "at", "given_end"),
    [
        ("3/4", "1 2 3 1 2 3", [0, 1, 2, 3, 4, 5], Fraction(9, 2)),
        ("6/8", "1 2 3 1 2 3", [0, Fraction(3, 2), 3, Fraction(9, 2)], Fraction(9, 2)),
        ("2/2", BAR, [0, 2, 4, 6], 6),
    ],
)
def test_the_count_in_beats_every_beat_of_the_meter(
    meter: str, bar: str, at: list[Fraction], given_end: Fraction
) -> None:
    performance = play(bar, f'meter = "{meter}"\nclick.every = "off"')
    count_in = [click for click in performance.clicks if click.count_in]
    bar_length = performance.music_start / 2
    assert [click.at for click in count_in] == at
    assert [click.accent for click in count_in] == [each % bar_length == 0 for each in at]
    assert performance.notes[0].end == given_end


def test_the_first_bar_and_the_close_are_sweeps_and_the_drone_is_silent_there() -> None:
    performance = play(BAR)
    sweeps = [(click.at, click.accent) for click in performance.clicks if click.sweep]
    end = performance.music_end
    assert sweeps[:4] == [(0, True), (1, False), (2, False), (3, False)]
    assert sweeps[4:] == [(end, True), (end + 1, False)]
    assert performance.drone is not None
    assert performance.drone.start >= 4
    assert performance.drone.end == end


# --- click


@pytest.mark.parametrize(
    ("every", "meter", "at"),
    [
        ("half beat", "4/4", [HALF * n for n in range(8)]),
        ("beat", "4/4", [0, 1, 2, 3]),
        ("half bar", "4/4", [0, 2]),
        ("bar", "4/4", [0]),
        ("off", "4/4", []),
        ("beat", "6/8", [0, Fraction(3, 2)]),
        ("half bar", "6/8", [0, Fraction(3, 2)]),
        ("half beat", "3/4", [HALF * n for n in range(6)]),
        ("beat", "2/2", [0, 2]),
        ("beat", "7/8", [HALF * n for n in range(7)]),
    ],
)
def test_clicks_fall_as_often_as_the_drill_asks_with_an_accent_on_one(
    every: str, meter: str, at: list[Fraction]
) -> None:
    bars = {"3/4": "1 2 3 1 2 3", "6/8": "1 2 3 1 2 3", "7/8": "1 2 3 1 2 3 1"}
    more = f'meter = "{meter}"\npasses = 1\nclick.every = "{every}"'
    performance = play(bars.get(meter, BAR), more)
    assert music_clicks(performance) == [(each, each == 0) for each in at]


def test_the_click_goes_on_through_a_gap() -> None:
    performance = play(BAR, "gap = 2")
    assert music_clicks(performance) == [(n, n % 4 == 0) for n in range(16)]
    assert performance.music_end - performance.music_start == 16


def test_a_stage_without_click_keeps_the_count_in_and_the_closing_sweeps() -> None:
    performance = play_drill(drill_of(BAR), stage=Stage("own", ("full",), click=False))
    assert not music_clicks(performance)
    assert len(performance.clicks) == 8 + 2


@pytest.mark.parametrize("stage", STAGES)
def test_click_and_drone_are_the_same_in_every_stage(stage: str) -> None:
    listen, other = play(BAR), play(BAR, stage=stage)
    assert other.clicks == listen.clicks
    assert other.drone == listen.drone


# --- drone


@pytest.mark.parametrize(
    ("more", "instrument", "pitches"),
    [
        ("", "viola", ["F3"]),  # the lowest tonic at or above the C string
        ("", "violin", ["F4"]),  # above the G string
        ('drone = { on = "tonic and fifth" }', "viola", ["F3", "C4"]),
        ("drone = { octave = 1 }", "viola", ["F4"]),
        ("drone = { octave = -1 }", "violin", ["F3"]),
        ('drone = { on = "tonic and fifth", octave = 1 }', "viola", ["F4", "C5"]),
        ('drone = { on = "open G" }', "viola", ["G3"]),
        ('drone = { on = "open G", octave = -1 }', "viola", ["G2"]),
        ('drone = { on = "Bb3" }', "viola", ["Bb3"]),
        ('drone = { on = "A3", octave = 1 }', "viola", ["A4"]),
        ('drone = { on = "off" }', "viola", []),
    ],
)
def test_the_drone_sounds_what_the_drill_asks(
    more: str, instrument: str, pitches: list[str]
) -> None:
    drone = play(BAR, f'keys = ["F major"]\n{more}', instrument=instrument).drone
    if drone is None:
        assert not pitches
        return
    assert [pitch.name for pitch in drone.pitches] == pitches
    equal = [440 * 2 ** ((Pitch.of(name).key_number - 69) / 12) for name in pitches]
    assert drone.hz == pytest.approx(equal, rel=1e-12)


@pytest.mark.parametrize(
    ("key", "fifth"), [("B major", "F#4"), ("Cb major", "Gb4"), ("C# major", "G#4")]
)
def test_the_fifth_over_the_tonic_is_perfect_in_every_key(key: str, fifth: str) -> None:
    drone = play("D4*8", f'keys = ["{key}"]\ndrone.on = "tonic and fifth"').drone
    assert drone is not None
    assert drone.pitches[1].name == fifth
    assert drone.pitches[1].key_number - drone.pitches[0].key_number == 7


@pytest.mark.parametrize("temperament", ["equal", "pythagorean", "just"])
def test_a_guide_on_the_tonic_is_octaves_from_the_drone_to_the_last_bit(temperament: str) -> None:
    more = f'keys = ["G major"]\ntuning.temperament = "{temperament}"'
    performance = play("p1: 3*8", more)
    assert performance.drone is not None
    assert performance.guide[1].hz == 2 * performance.drone.hz[0]
    assert performance.tonic_hz == performance.drone.hz[0]


def test_an_open_string_drone_is_as_the_string_is_tuned() -> None:
    # pure fifths down from A = 440: G3 195.5556 Hz
    more = 'keys = ["C major"]\ntuning.temperament = "just"\ndrone.on = "open G"'
    drone = play(BAR, more).drone
    assert drone is not None
    assert drone.hz[0] == pytest.approx(195.5556, abs=5e-5)


def test_a_stage_without_drone_has_none() -> None:
    assert play_drill(drill_of(BAR), stage=Stage("own", ("full",), drone=False)).drone is None


# --- close


@pytest.mark.parametrize(
    ("meter", "bar", "bpm", "bars"),
    [
        ("4/4", BAR, 60, 1),
        ("4/4", BAR, 300, 2),  # a bar of 0.8 s is too short for the closing second
        ("1/4", "1 2", 60, 2),  # two beats for two sweeps
        ("1/4", "1 2", 320, 6),
    ],
)
def test_whole_bars_close_the_track_with_two_beats_and_a_second_at_least(
    meter: str, bar: str, bpm: int, bars: int
) -> None:
    drill = drill_of(bar, f'meter = "{meter}"')
    performance = play_drill(drill, bpm)
    assert performance.length - performance.music_end == bars * drill.meter.bar
    clock = Clock.at(bpm * drill.meter.beat)
    layout = TrackLayout(performance.score, clock, drill.passes, performance.score.climb)
    assert layout.end == performance.length


def test_a_track_of_eight_bars_at_60_lasts_44_seconds() -> None:
    """The example of the timeline: count-in 8 s, drone from 4 to 40, one bar to close."""
    performance = play(BAR, "climb = 4", instrument="viola")
    assert performance.drone is not None
    span = (performance.drone.start, performance.drone.end, performance.length)
    assert span == (4, 40, 44)
    assert performance.seconds == pytest.approx(44, abs=32 / 44100)


@pytest.mark.parametrize("temperament", ["equal", "pythagorean", "just"])
def test_a_pure_fifth_stands_at_3_to_2_of_its_tonic_in_every_temperament(temperament: str) -> None:
    tuning = f'tuning.temperament = "{temperament}"'
    drone = play("D4*8", f'{tuning}\ndrone = {{ on = "tonic and fifth", fifth = "pure" }}').drone
    assert drone is not None
    assert drone.hz[1] / drone.hz[0] == pytest.approx(3 / 2, rel=1e-12)


def test_a_fifth_is_tempered_where_no_pure_one_is_asked_for() -> None:
    """Equal temperament's fifth is 1.955 cents narrow (Helmholtz): it beats."""
    drone = play("D4*8", 'drone = { on = "tonic and fifth" }').drone
    assert drone is not None
    assert drone.hz[1] / drone.hz[0] == pytest.approx(2 ** (7 / 12), rel=1e-9)
