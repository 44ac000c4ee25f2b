"""What an entry of the timeline owns and tells, and the level of a slide."""

from __future__ import annotations

from fractions import Fraction

import pytest
from playing import play

from playalong.instrument.shift import Kind, Travel
from playalong.music.pitch import Pitch
from playalong.performance.glide import Glide
from playalong.performance.performance import Slide
from playalong.performance.timeline import Timeline, TimelineError
from playalong.performance.timing import timeline_of

TWO_SHIFTS = "p1: 1 p3: 3 p1: 1 p3: 1"  # old finger leads there and back, then the same finger


def timeline(stage: str) -> Timeline:
    return timeline_of(play(TWO_SHIFTS, 'note = "quarter"\npasses = 1', stage=stage))


def test_every_note_owns_the_slide_and_the_ghost_that_lead_into_it() -> None:
    given, first, second, third, fourth = timeline("listen").notes
    assert given.is_given
    assert (first.slide, first.ghost) == (None, None)
    assert second.slide is not None
    assert second.ghost is not None
    assert (second.slide.kind, second.ghost.pitch) == ("old finger leads", "G4")
    assert third.ghost is not None
    assert third.ghost.pitch == "G4"
    assert fourth.slide is not None
    assert (fourth.slide.kind, fourth.ghost) == ("same finger", None)


def test_a_late_entry_is_told_at_half_the_notes_length() -> None:
    late = [note for note in timeline("check").notes if note.heard_from_seconds is not None]
    assert [note.pitch for note in late] == ["B4", "E4", "G4"]
    for note in late:
        half = (note.from_seconds + note.to_seconds) / 2
        assert note.heard_from_seconds == pytest.approx(half, abs=64 / 44_100)


def test_brackets_nested_too_deep_are_no_timeline() -> None:
    with pytest.raises(TimelineError, match="this is not a timeline that can be read"):
        Timeline.from_json("[" * 100_000)


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
