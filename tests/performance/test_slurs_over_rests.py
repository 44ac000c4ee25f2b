"""A slur does not reach over a rest: what follows it is a tone of its own, as exported."""

from __future__ import annotations

import pytest
from exported import GUIDE, Exported, exported

ONE_PASS = 'note = "quarter"\npasses = 1\n'
MUSIC = 8.0  # seconds at 60, after two bars of count-in
BLOCK = 64 / 44_100
SPOKEN, ATTACK, RELEASE = 64, 73, 72  # controllers of a bow that begins and ends by itself
BARS = [
    "( 1 r 1 ) 2",  # the same note again
    "( 1 r 2 ) 1",
    "( 1 r p3: 1 ) 2",  # an unheard shift of one finger
    "( 3 r p3: 1 ) 2",  # another finger on the same note
    "( 2 r 2# ) 1",
    "( 1 r ~2 ) 1",
]


def spoken(track: Exported, controller: int, at: float) -> int:
    """The value of a controller at the time of a note's begin or end."""
    values = [
        value for t, _, value in track.controls(GUIDE, controller) if abs(t - at) <= BLOCK and t > 0
    ]
    return values[-1]


@pytest.mark.parametrize("bar", BARS)
def test_a_slur_over_a_rest_is_two_tones_with_two_onsets(bar: str) -> None:
    track = exported(bar, ONE_PASS)
    assert [note["onset"] for note in track.notes] == [True, True, True]
    assert [(note["from"], note["to"]) for note in track.notes] == [
        pytest.approx((MUSIC + at, MUSIC + at + 1), abs=BLOCK) for at in (0, 2, 3)
    ]
    tones = [note for note in track.sounding(GUIDE) if note.start >= MUSIC - BLOCK]
    assert [(tone.start, tone.end) for tone in tones] == [
        pytest.approx((MUSIC + at, MUSIC + at + 1), abs=BLOCK) for at in (0, 2, 3)
    ]


@pytest.mark.parametrize("bar", BARS)
def test_the_bow_stops_before_the_rest_and_speaks_anew_after_it(bar: str) -> None:
    track = exported(bar, ONE_PASS)
    assert spoken(track, RELEASE, MUSIC + 1) == SPOKEN
    assert spoken(track, ATTACK, MUSIC + 2) == SPOKEN


@pytest.mark.parametrize("bar", BARS)
def test_nothing_slides_over_a_rest(bar: str) -> None:
    track = exported(bar, ONE_PASS)
    into = [slide for slide in track.slides if abs(slide["to"] - (MUSIC + 2)) <= BLOCK]
    assert not any(slide["sounds"] or slide["curve"] for slide in into)


def test_without_the_rest_the_same_slur_is_one_tone() -> None:
    track = exported("( 1 p3: 1 ) 2 3", ONE_PASS)
    assert [note["onset"] for note in track.notes] == [True, False, True, True]
    tones = [note for note in track.sounding(GUIDE) if note.start >= MUSIC - BLOCK]
    assert [round(tone.start - MUSIC, 2) for tone in tones] == [0, 2, 3]
    assert tones[0].end == pytest.approx(MUSIC + 2, abs=BLOCK)


def test_a_bow_set_for_the_bar_stops_at_a_rest_too() -> None:
    track = exported("1 r 1 p3: 1", f'{ONE_PASS}bow = "bar"')
    assert [note["onset"] for note in track.notes] == [True, True, False]
