"""Room for slides and ghost notes: every threshold on both sides, as the exported track has it.

At a quarter of T seconds a slide takes `share` T, 0.6 s at most; a sounded ghost holds the last
quarter of the note that is left, 120 ms at the least; that note keeps 80 ms before its slide, and
a slide lasts 40 ms. Times are worked out here and met to a block of 64 frames, 1.5 ms.
"""

from __future__ import annotations

import pytest
from exported import GHOST, GUIDE, exported

ONE_PASS = 'note = "quarter"\npasses = 1\n'
COUNT_IN = 8  # quarters
BLOCK = 64 / 44_100
OLD_LEADS, SAME_FINGER = "1 1 p3: 3 3", "1 1 p3: 1 1"


def length(entry: dict[str, float]) -> float:
    return entry["to"] - entry["from"]


@pytest.mark.parametrize(
    ("bpm", "share", "seconds"),
    [
        (60, 0.05, 0.05),
        (60, 0.4, 0.4),
        (60, 0.59, 0.59),
        (60, 0.6, 0.6),
        (60, 0.61, 0.6),  # never longer than 0.6 s
        (60, 0.7, 0.6),
        (20, 0.4, 0.6),
        (120, 0.7, 0.35),
    ],
)
def test_a_slide_takes_its_share_of_the_note_and_six_tenths_of_a_second_at_most(
    bpm: int, share: float, seconds: float
) -> None:
    track = exported(SAME_FINGER, f"{ONE_PASS}slide.share = {share}", bpm=bpm)
    (slide,) = track.slides
    assert length(slide) == pytest.approx(seconds, abs=BLOCK)
    assert slide["to"] == pytest.approx(track.notes[2]["from"], abs=BLOCK)


def test_the_share_is_two_fifths_unless_the_drill_says() -> None:
    (slide,) = exported(SAME_FINGER, ONE_PASS).slides
    assert length(slide) == pytest.approx(0.4, abs=BLOCK)


@pytest.mark.parametrize(
    ("bpm", "share", "strength"),
    [
        # a quarter of the note: 120 ms of 0.480 s, 119 ms of 0.476 s
        (125, 0.4, "sounded"),
        (126, 0.4, "light"),
        # the note keeps 1 - 0.25 - 0.59 = 0.16 of itself: 80 ms of 0.500 s, 79 ms of 0.496 s
        (120, 0.59, "sounded"),
        (121, 0.59, "light"),
        # without the ghost it keeps 0.3 of itself: 80.0 ms of 0.267 s, 79.6 ms of 0.265 s
        (225, 0.7, "light"),
        (226, 0.7, "none"),
        # a slide of 0.05: 40 ms of 0.800 s, 39.5 ms of 0.789 s
        (75, 0.05, "sounded"),
        (76, 0.05, "none"),
    ],
)
def test_a_ghost_is_sounded_then_light_then_none_where_room_grows_short(
    bpm: int, share: float, strength: str
) -> None:
    track = exported(OLD_LEADS, f"{ONE_PASS}slide.share = {share}", bpm=bpm)
    quarter = 60 / bpm
    (ghost,), (slide,) = track.ghosts, track.slides
    landing = (COUNT_IN + 2) * quarter
    held = quarter / 4 if strength == "sounded" else 0
    assert (ghost["sounds"], ghost["onset"]) == (strength != "none", strength == "sounded")
    assert slide["sounds"] == (strength != "none")
    assert length(ghost) == pytest.approx(held, abs=BLOCK)
    assert ghost["to"] == pytest.approx(landing, abs=BLOCK)
    assert slide["to"] == pytest.approx(landing - held, abs=BLOCK)
    told = [note for note in track.sounding(GHOST) if note.end > COUNT_IN * quarter]
    assert len(told) == (strength == "sounded")
    for note in told:
        assert note.start == pytest.approx(landing - held, abs=BLOCK)
        assert note.end == pytest.approx(landing, abs=BLOCK)


@pytest.mark.parametrize(
    ("tokens", "quarters"), [("1*1/2 1*3/2", 1.5), ("1 1", 1), ("1*3/2 1*1/2", 0.5)]
)
def test_a_sounded_ghost_holds_the_last_quarter_of_the_note_that_is_left(
    tokens: str, quarters: float
) -> None:
    track = exported(f"{tokens} p3: 3 3", ONE_PASS, bpm=60)
    (ghost,) = track.ghosts
    assert length(ghost) == pytest.approx(quarters / 4, abs=BLOCK)
    assert ghost["to"] == pytest.approx(COUNT_IN + 2, abs=BLOCK)


@pytest.mark.parametrize("bow", ["note", "bar"])
@pytest.mark.parametrize(("bpm", "sounds"), [(225, True), (226, False)])
def test_where_no_slide_has_room_the_notes_simply_follow_each_other(
    bpm: int, sounds: bool, bow: str
) -> None:
    """A note of 0.267 s less 0.7 of it keeps 80.0 ms, one of 0.265 s 79.6 ms."""
    track = exported(SAME_FINGER, f'{ONE_PASS}slide.share = 0.7\nbow = "{bow}"', bpm=bpm)
    (slide,) = track.slides
    assert slide["sounds"] == sounds
    assert bool(slide["curve"]) == sounds
    joined = sounds and bow == "bar"
    assert track.notes[2]["onset"] is not joined
    starts = [note.start for note in track.sounding(GUIDE)]
    landing = (COUNT_IN + 2) * 60 / bpm
    assert any(abs(start - landing) < BLOCK for start in starts) is not joined
