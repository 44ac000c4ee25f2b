"""The first note, given softly in the count-in: when, and how the timeline tells it."""

from __future__ import annotations

import pytest
from exported import GUIDE, exported

BLOCK = 64 / 44_100


@pytest.mark.parametrize(
    ("meter", "bar", "beat_seconds", "beats"),
    [("4/4", "1*8", 1.0, 4), ("3/4", "1*6", 1.0, 3), ("6/8", "1*6", 1.0, 2)],
)
@pytest.mark.parametrize("count_in", [1, 2, 3, 4])
def test_it_is_given_with_the_drone_and_stops_by_the_middle_of_its_bar(
    count_in: int, meter: str, bar: str, beat_seconds: float, beats: int
) -> None:
    """In the last bar of the count-in; in its second half where that is the only one."""
    track = exported(bar, f'meter = "{meter}"\npasses = 1\nclick.count_in = {count_in}')
    (given,) = [n for n in track.timeline["notes"] if n["bar"] == 0]
    length = beats * beat_seconds
    start = (count_in - 1) * length if count_in > 1 else length / 2
    end = start + (length / 2 if count_in > 1 else length / 4)
    assert (given["from"], given["to"]) == pytest.approx((start, end), abs=BLOCK)
    assert given["beat"] == (0.0 if count_in > 1 else beats / 2)
    assert (given["pass"], given["role"], given["sounds"]) == (0, "note", True)
    (drone,) = track.timeline["drone"]
    assert drone["from"] == given["from"]
    first = track.sounding(GUIDE)[0]
    assert (first.start, first.end) == pytest.approx((start, end), abs=BLOCK)


def test_it_is_the_first_note_of_the_drill_even_after_a_rest() -> None:
    track = exported("r*2 p3: 2*2 1*4", "passes = 1")
    (given,) = [n for n in track.timeline["notes"] if n["bar"] == 0]
    told = {name: given[name] for name in ("pitch", "finger", "string", "position")}
    assert told == {"pitch": "A4", "finger": 2, "string": "D", "position": 3}
