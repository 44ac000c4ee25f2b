"""When a session's parts begin: taps, sound, and the rest between, added up by hand."""

from __future__ import annotations

from pathlib import Path

import pytest
from playing import BANK, drill_of

from playalong.making.make import make
from playalong.making.plan import Options

BLOCK = 64 / 44_100
OPTIONS = Options(BANK, format="flac", sheet=False, page=False)
QUICK = 'note = "quarter"\npasses = 1\nclick.count_in = 1\ntempo.start = 240\n'
STAGES = 'stages = ["listen", "answer", "alone"]\n'


def taps(number: int) -> float:
    """Seconds of so many taps: one every half second, and a second and a half to think."""
    return number * 0.5 + 1.5


@pytest.mark.parametrize(
    ("settings", "rest", "with_taps"),
    [
        ("", 60, True),  # a minute unless the drill says otherwise
        ("session.rest = 0.25", 15, True),
        ("session.rest = 0", 0, True),
        ("session = { rest = 0.1, taps = false }", 6, False),
    ],
)
def test_a_rest_stands_between_two_parts_and_neither_before_the_first_nor_after_the_last(
    settings: str, rest: float, with_taps: bool, tmp_path: Path
) -> None:
    made = make(drill_of("1 2 3 4", QUICK + STAGES + settings), tmp_path, OPTIONS)
    (session,) = made.manifest.sessions
    at = 0.0
    for number, ((start, played), track) in enumerate(
        zip(session.parts, made.manifest.tracks, strict=True), 1
    ):
        at += rest if number > 1 else 0
        at += taps(number) if with_taps else 0
        assert played == track.number == number
        assert start == pytest.approx(at, abs=3 * BLOCK)  # each stretch is rounded to a block
        at = start + track.seconds
    assert session.seconds == pytest.approx(at, abs=BLOCK)


@pytest.mark.parametrize(
    ("places", "parts"),
    [(3, 1), (4, 2), (6, 2), (7, 3), (8, 3), (9, 3), (10, 4)],
)
def test_no_part_is_longer_than_the_player_may_play(
    places: int, parts: int, tmp_path: Path
) -> None:
    """At 40 a bar lasts 6 s and 12 s lead in and out: in 30.6 s three places have room."""
    settings = (
        f"passes = 1\nclick.count_in = 1\ntempo.start = 40\nclimb = {places}\n"
        'stages = ["alone"]\nsession = { play = 0.51, rest = 0, taps = false }'
    )
    made = make(drill_of("1*8", settings), tmp_path, OPTIONS)
    (session,) = made.manifest.sessions
    starts = [start for start, _ in session.parts]
    lengths = [
        end - start for start, end in zip(starts, [*starts[1:], session.seconds], strict=True)
    ]
    assert len(lengths) == parts
    assert max(lengths) <= 30.6
    assert sum(lengths) == pytest.approx(places * 6 + parts * 12, abs=parts * 2 * BLOCK)


def test_the_parts_of_one_track_rest_between_them_too(tmp_path: Path) -> None:
    """Ten places of two bars last 40 s at 120, and 8 s lead in and out: two parts of five."""
    settings = (
        'note = "quarter"\nclick.count_in = 1\ntempo.start = 120\nclimb = 10\n'
        'stages = ["alone"]\nsession = { play = 0.5, rest = 0.1 }'
    )
    made = make(drill_of("1 2 3 4", settings), tmp_path, OPTIONS)
    (session,), (track,) = made.manifest.sessions, made.manifest.tracks
    (first, one), (second, two) = session.parts
    lead_in_and_out = track.seconds - 10 * 4
    part = 5 * 4 + lead_in_and_out
    assert (one, two) == (track.number, track.number)
    assert first == pytest.approx(taps(1), abs=BLOCK)
    assert second == pytest.approx(first + part + 6 + taps(1), abs=4 * BLOCK)
    assert session.seconds == pytest.approx(second + part, abs=2 * BLOCK)
