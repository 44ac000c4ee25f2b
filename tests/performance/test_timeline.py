"""The timeline: the fields that it promises, in time with the sound's blocks."""

from __future__ import annotations

import json
import math
from itertools import pairwise
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from playing import drill_of, play, play_drill
from strategies import scores

from playalong.drill.stage import STAGES, Stage
from playalong.performance.clock import BLOCK_FRAMES, SAMPLE_RATE_HZ
from playalong.performance.perform import perform
from playalong.performance.performance import Performance
from playalong.performance.timing import timeline_of
from playalong.score.model import Score

BAR = "p1: 1 2 3 1 p3: 1 2 p1: 2 1"
NUMBER = (int, float)
TEXT_OR_NONE = (str, type(None))
NUMBER_OR_NONE = (*NUMBER, type(None))
SNAPPED = (
    BLOCK_FRAMES / 2 / SAMPLE_RATE_HZ + 0.5e-6
)  # seconds: half a block, and the digits written
# Fields and their types
TRACK = {
    **dict.fromkeys(("format", "temperament", "stage", "key"), (str,)),
    **dict.fromkeys(("a4_hz", "bpm", "seconds", "tonic_hz"), NUMBER),
    **dict.fromkeys(("clicks", "drone", "notes", "slides"), (list,)),
    "string": TEXT_OR_NONE,
}
ENTRIES = {
    "clicks": {"at": NUMBER, **dict.fromkeys(("accent", "count_in", "sweep"), (bool,))},
    "drone": {"from": NUMBER, "to": NUMBER, "hz": (list,)},
    "notes": {
        **dict.fromkeys(("from", "to", "hz", "beat", "cents_above_tonic"), NUMBER),
        **dict.fromkeys(("bar", "pass"), (int,)),
        **dict.fromkeys(("finger", "position"), (int, type(None))),
        "pitch": (str,),
        "string": TEXT_OR_NONE,
        "sounds": (bool,),
        "role": (str,),
        "onset": (bool,),
    },
    "slides": {
        **dict.fromkeys(("from", "to", "from_hz", "to_hz"), NUMBER),
        "kind": (str,),
        "finger": (int, type(None)),
        "travel_mm": NUMBER_OR_NONE,
        "hand_travel_mm": NUMBER_OR_NONE,
        "sounds": (bool,),
        "curve": (list,),
    },
}
SAMPLE = [  # bar, settings, instrument
    (BAR, "", "violin"),
    ("( p1: 1 2 ) r 0 p3: -3 ~2# p1: 2 1", "", "viola"),
    ("D: 1 2 A: p3: 2 1 D: p1: 1 2 3 4", 'slide.lead = "new finger"', "violin"),
    ("C5 ~D5 E5 r F5 G5 A5 B5", "drone = { on = 'off' }", "soprano"),
    ("E4=1 F4=2 G4=1 ~B4=3 C5 B4 A4 G4", 'tuning = { temperament = "just" }', "violin"),
    ("1 2 3 1 p2: 1 2", 'meter = "6/8"\nkeys = ["Bb minor"]\nclick.every = "off"', "viola"),
]


def parsed(performance: Performance) -> dict[str, Any]:
    data: dict[str, Any] = json.loads(timeline_of(performance).to_json())
    return data


def times(data: dict[str, Any]) -> list[float]:
    found = [data["seconds"], *(click["at"] for click in data["clicks"])]
    for entry in (*data["drone"], *data["notes"], *data["slides"]):
        found += [entry["from"], entry["to"], *(at for at, _ in entry.get("curve", ()))]
        found += [entry["heard_from"]] if "heard_from" in entry else []
    return found


def check_fields(data: dict[str, Any]) -> None:
    assert data["format"] == "playalong timeline 1"
    for name, kinds in TRACK.items():
        assert type(data[name]) in kinds, name
    for table, fields in ENTRIES.items():
        for entry in data[table]:
            for name, kinds in fields.items():
                assert type(entry[name]) in kinds, (table, name)
    assert {note["role"] for note in data["notes"]} <= {"note", "ghost"}
    names = [data["key"], data["string"] or "", *(note["pitch"] for note in data["notes"])]
    assert all(name.isascii() for name in names)


@pytest.mark.parametrize("stage", STAGES)
@pytest.mark.parametrize(("bar", "more", "instrument"), SAMPLE)
def test_every_promised_field_is_there_with_its_type(
    bar: str, more: str, instrument: str, stage: str
) -> None:
    performance = play(bar, more, instrument=instrument, stage=stage)
    data = parsed(performance)
    check_fields(data)
    assert data == json.loads(json.dumps(timeline_of(performance).data()))


@settings(max_examples=25)
@given(scores(), st.integers(40, 208), st.sampled_from(tuple(STAGES.values())))
def test_times_fall_on_blocks_and_curves_have_a_point_every_ten_milliseconds(
    score: Score, bpm: int, stage: Stage
) -> None:
    data = parsed(perform(score, bpm, stage))
    check_fields(data)
    for seconds in times(data):
        blocks = seconds * SAMPLE_RATE_HZ / BLOCK_FRAMES
        # written to a millionth of a second
        assert abs(blocks - round(blocks)) * BLOCK_FRAMES / SAMPLE_RATE_HZ <= 0.51e-6
        assert 0 <= seconds <= data["seconds"]
    for slide in data["slides"]:
        curve = slide["curve"]
        if slide["from"] == slide["to"]:
            assert not curve
            continue
        assert curve[0] == [slide["from"], slide["from_hz"]]
        assert curve[-1] == [slide["to"], slide["to_hz"]]
        low, high = sorted((slide["from_hz"], slide["to_hz"]))
        for (before, hz), (after, next_hz) in pairwise(curve):
            assert before < after <= before + 0.010
            assert low <= hz <= high
            assert (next_hz - hz) * (slide["to_hz"] - slide["from_hz"]) >= 0


@settings(max_examples=25)
@given(scores(), st.integers(40, 208), st.sampled_from(tuple(STAGES.values())))
def test_notes_are_told_whether_they_sound_or_not_in_order_of_time(
    score: Score, bpm: int, stage: Stage
) -> None:
    performance = perform(score, bpm, stage)
    data = parsed(performance)
    notes = [note for note in data["notes"] if note["role"] == "note"]
    assert [note["pitch"] for note in notes[1:]] == [
        note.pitch.name for each in performance.passes for note in each.notes
    ]
    starts = [note["from"] for note in data["notes"]]
    assert starts == sorted(starts)
    for note in data["notes"]:
        cents = 1200 * math.log2(note["hz"] / data["tonic_hz"])
        # frequencies are written to a ten-thousandth of a hertz
        slack = 1731.3 * 0.5e-4 * (1 / note["hz"] + 1 / data["tonic_hz"]) + 0.5e-3
        assert note["cents_above_tonic"] == pytest.approx(cents, abs=slack)


# --- the example that the timeline's description gives: viola, D string, F major, 60


@pytest.fixture
def example() -> dict[str, Any]:
    return parsed(play(BAR, 'keys = ["F major"]\nclimb = 4', instrument="viola"))


def test_the_example_has_its_key_tempo_and_tonic(example: dict[str, Any]) -> None:
    told = {
        name: example[name] for name in ("a4_hz", "temperament", "bpm", "stage", "key", "string")
    }
    assert told == {
        "a4_hz": 440.0,
        "temperament": "equal",
        "bpm": 60,
        "stage": "listen",
        "key": "F major",
        "string": "D",
    }
    assert example["seconds"] == pytest.approx(44, abs=SNAPPED)
    assert example["tonic_hz"] == pytest.approx(174.614, abs=5e-4)  # F3


def test_the_example_has_its_first_click_drone_and_note(example: dict[str, Any]) -> None:
    assert example["clicks"][0] == {"at": 0.0, "accent": True, "count_in": True, "sweep": True}
    (drone,) = example["drone"]
    assert (drone["from"], drone["to"]) == pytest.approx((4, 40), abs=SNAPPED)
    assert drone["hz"] == [example["tonic_hz"]]
    note = example["notes"][1]
    assert (note["from"], note["to"]) == pytest.approx((8, 8.5), abs=SNAPPED)
    assert note["hz"] == pytest.approx(329.628, abs=5e-4)  # E4
    assert note["cents_above_tonic"] == 1100
    told = ("pitch", "finger", "string", "position", "bar", "pass", "beat", "sounds", "role")
    assert [note[name] for name in told] == ["E4", 1, "D", 1, 1, 1, 0.0, True, "note"]


def test_the_example_has_its_first_slide(example: dict[str, Any]) -> None:
    slide = example["slides"][0]
    assert (slide["from"], slide["to"]) == pytest.approx((9.8, 10), abs=SNAPPED)
    assert (slide["kind"], slide["finger"], slide["sounds"]) == ("same finger", 1, True)
    assert (slide["from_hz"], slide["to_hz"]) == pytest.approx((329.628, 391.995), abs=5e-4)
    assert slide["travel_mm"] == 53.2  # 375 mm (1/1.12246 - 1/1.33484), E4 to G4 on the D string


def test_at_half_its_time_the_slide_stands_halfway_on_the_string() -> None:
    """E4 to G4 on a D string passes 358.116 Hz: the mean of the sounding string lengths."""
    slide = play(BAR, 'keys = ["F major"]', instrument="viola").slides[0]
    assert slide.glide.hz_at(0.5) == pytest.approx(358.116, abs=5e-4)


# --- what else it tells


def test_the_given_note_stands_before_the_first_bar() -> None:
    given_note = parsed(play(BAR))["notes"][0]
    assert (given_note["bar"], given_note["pass"], given_note["sounds"]) == (0, 0, True)


def test_a_landing_that_enters_late_says_from_when() -> None:
    notes = parsed(play(BAR, stage="check"))["notes"]
    late = [note for note in notes if "heard_from" in note]
    assert late
    for note in late:
        middle = (note["from"] + note["to"]) / 2
        assert note["heard_from"] == pytest.approx(middle, abs=BLOCK_FRAMES / SAMPLE_RATE_HZ)


def test_a_slurred_same_finger_landing_has_no_onset() -> None:
    notes = parsed(play("( 1 2 3 1 p3: 1 2 p1: 2 1 )"))["notes"]
    assert [n["beat"] for n in notes[1:9] if not n["onset"]] == [2.0, 3.0]


def test_a_silent_ghost_is_told_as_silent() -> None:
    stage = Stage("own", ("full",), "full", "silent")
    notes = parsed(play_drill(drill_of("1*4 p3: 3*4"), stage=stage))["notes"]
    assert {note["sounds"] for note in notes if note["role"] == "ghost"} == {False}


def test_a_new_finger_ghost_is_told_in_the_old_position() -> None:
    data = parsed(play("1*4 p3: 3*4", 'passes = 1\nslide.lead = "new finger"'))
    (ghost,) = [note for note in data["notes"] if note["role"] == "ghost"]
    assert (ghost["finger"], ghost["position"], ghost["from"]) == (3, 1, data["slides"][0]["from"])


def test_beats_of_compound_meters_are_dotted() -> None:
    notes = parsed(play("1 2 3 1 2 3", 'meter = "6/8"'))["notes"]
    assert [note["beat"] for note in notes[1:7]] == pytest.approx(
        [0, 1 / 3, 2 / 3, 1, 4 / 3, 5 / 3], abs=1e-6
    )


def test_where_no_string_is_known_none_is_told() -> None:
    data = parsed(play("C5 ~D5 E5 r F5 G5 A5 B5", instrument="soprano"))
    assert data["string"] is None
    assert {(n["string"], n["finger"], n["position"]) for n in data["notes"]} == {(None,) * 3}
    assert {slide["travel_mm"] for slide in data["slides"]} == {None}
    assert {slide["hand_travel_mm"] for slide in data["slides"]} == {None}


def test_a_title_in_any_script_is_kept() -> None:
    assert parsed(play("1 2 3 4 1 2 3 4", title="練習 Übung"))["title"] == "練習 Übung"
