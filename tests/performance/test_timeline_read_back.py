"""The timeline as JSON: every entry owns its slide and its ghost, and reads back as it was."""

from __future__ import annotations

import json
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from playing import play
from strategies import scores

from playalong.drill.stage import STAGES, Stage
from playalong.instrument.shift import Kind, Travel
from playalong.music.pitch import Pitch
from playalong.performance.glide import Glide
from playalong.performance.perform import perform
from playalong.performance.performance import Slide
from playalong.performance.timeline import Timeline, TimelineError
from playalong.performance.timing import timeline_of
from playalong.score.model import Score

TWO_SHIFTS = "p1: 1 p3: 3 p1: 1 p3: 1"  # old finger leads there and back, then the same finger


def timeline(stage: str = "listen", more: str = "") -> Timeline:
    return timeline_of(play(TWO_SHIFTS, f'note = "quarter"\npasses = 1\n{more}', stage=stage))


@settings(max_examples=40)
@given(scores(), st.integers(40, 208), st.sampled_from(tuple(STAGES.values())))
def test_what_is_written_reads_back_as_it_was(score: Score, bpm: int, stage: Stage) -> None:
    told = timeline_of(perform(score, bpm, stage))
    assert Timeline.from_json(told.to_json()) == told


def test_a_ghost_and_a_slide_tell_which_note_they_lead_into() -> None:
    data = json.loads(timeline().to_json())
    ghosts = [(n, note) for n, note in enumerate(data["notes"]) if note["role"] == "ghost"]
    assert [data["notes"][ghost["into"]]["pitch"] for _, ghost in ghosts] == ["B4", "E4"]
    assert all(ghost["into"] == number + 1 for number, ghost in ghosts)
    landings = [data["notes"][slide["into"]] for slide in data["slides"]]
    assert [landing["pitch"] for landing in landings] == ["B4", "E4", "G4"]
    assert all(landing["role"] == "note" for landing in landings)
    assert all("into" not in note for note in data["notes"] if note["role"] == "note")


def test_every_note_owns_the_slide_and_the_ghost_that_lead_into_it() -> None:
    given_note, first, second, third, fourth = timeline().notes
    assert given_note.is_given
    assert (first.slide, first.ghost) == (None, None)
    assert second.slide is not None
    assert second.ghost is not None
    assert (second.slide.kind, second.ghost.pitch) == ("old finger leads", "G4")
    assert third.ghost is not None
    assert third.ghost.pitch == "G4"
    assert fourth.slide is not None
    assert (fourth.slide.kind, fourth.ghost) == ("same finger", None)


def test_one_note_at_a_time_is_the_first_voice() -> None:
    assert {note.voice for note in timeline().all_notes} == {1}
    assert {note["voice"] for note in json.loads(timeline().to_json())["notes"]} == {1}


@pytest.mark.parametrize(
    ("meter", "note", "bar", "beat"),
    [
        ("4/4", "quarter", "p1: 1*2 p3: 3*2", 1.5),  # the last quarter of a half
        ("6/8", "eighth", "p1: 1 1 1 1 1 p3: 3", 4.75 / 3),  # of the fifth eighth, in dotted beats
    ],
)
def test_a_ghosts_beat_counts_from_the_bar_line_in_the_meters_beats(
    meter: str, note: str, bar: str, beat: float
) -> None:
    played = play(bar, f'meter = "{meter}"\nnote = "{note}"\npasses = 1', bpm=40)
    (ghost,) = [each for each in timeline_of(played).all_notes if each.role == "ghost"]
    assert ghost.beat == pytest.approx(beat, abs=1e-6)


def test_a_late_entry_is_told_and_read_back() -> None:
    told = timeline("check")
    late = [note for note in told.notes if note.heard_from_seconds is not None]
    assert [note.pitch for note in late] == ["B4", "E4", "G4"]
    for note in late:
        half = (note.from_seconds + note.to_seconds) / 2
        assert note.heard_from_seconds == pytest.approx(half, abs=64 / 44_100)


@pytest.mark.parametrize(
    "text",
    ["", "{}", "[]", "null", '{"format": "playalong timeline 2"}', "[" * 10_000, "\x00"],
    ids=lambda text: text[:12],
)
def test_a_text_that_is_no_timeline_is_told(text: str) -> None:
    with pytest.raises(TimelineError, match="this is not a timeline that can be read"):
        Timeline.from_json(text)


@pytest.mark.parametrize("lost", ["notes", "slides", "clicks", "drone", "tonic_hz", "seconds"])
def test_a_timeline_that_lacks_something_is_told(lost: str) -> None:
    data = json.loads(timeline().to_json())
    del data[lost]
    with pytest.raises(TimelineError, match=f"KeyError: '{lost}'"):
        Timeline.from_json(json.dumps(data))


@pytest.mark.parametrize(
    ("dip", "settle", "levels"),
    [
        (6.0, 0.0, (0, -6.0, 0)),  # lightest at half time, full on arrival
        (0.0, 12.0, (0, -6.0, -12.0)),  # the weight goes as the finger goes: half of it halfway
        (6.0, 1.0, (0, -6.5, -1.0)),
    ],
)
def test_a_slides_level_dips_with_its_speed_and_settles_with_its_way(
    dip: float, settle: float, levels: tuple[float, ...]
) -> None:
    way = Travel(Kind.SAME_FINGER, "D", 1, Pitch.of("E4"), Pitch.of("G4"), 46.5)
    slide = Slide(Fraction(0), Fraction(1), way, Glide(329.6, 392.0), True, dip, settle)
    assert [slide.level_db(t) for t in (0, 0.5, 1)] == pytest.approx(levels)
