"""What a real page holds of the tracks beside it, read from the file as the browser reads it."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from pages import Reader, data_in
from playing import BANK, drill_of

from playalong.engraving.reading import PASSES, SHIFTS
from playalong.making.make import make
from playalong.making.plan import Options


def page_of(bar: str, more: str, out: Path) -> dict[str, Any]:
    made = make(drill_of(bar, more), out, Options(BANK, format="flac", sheet=False))
    return data_in(out / made.manifest.sheet["page"])


@pytest.mark.parametrize(
    ("climb", "shares"),
    [(3, [(0, 3)]), (4, [(0, 2), (2, 2)]), (5, [(0, 3), (3, 2)]), (7, [(0, 3), (3, 3), (6, 1)])],
)
def test_parts_of_a_session_are_as_even_as_whole_places_make_them(
    climb: int, shares: list[tuple[int, int]], tmp_path: Path
) -> None:
    """First place and places of each part. At 40 a bar lasts 6 s, and 12 s lead in and out, so in
    30.6 s at a stretch there is time for three places at the most."""
    more = (
        f'passes = 1\nclimb = {climb}\nstages = ["alone"]\nclick.count_in = 1\n'
        "tempo.start = 40\nsession = { play = 0.51, rest = 0 }"
    )
    data = page_of("1*8", more, tmp_path)
    parts = [Reader(data, part["music"]) for part in data["sessions"][0]["parts"]]
    played = [[bar - 1 for bar in part.bars if bar] for part in parts]
    assert [(places[0], len(places)) for places in played] == shares
    assert [part.numbers for part in parts] == played  # one note a place


def test_a_ghost_note_is_held_in_listen_touched_in_answer_and_silent_in_check(
    tmp_path: Path,
) -> None:
    more = 'passes = 1\nstages = ["listen", "answer", "check"]'
    data = page_of("1*4 p3: 3*4", more, tmp_path)
    strengths = []
    for track in data["tracks"]:
        read = Reader(data, track["music"])
        assert read.landings[0] == 1
        strengths.append(read.ghosts[0])
    assert strengths == [2, 1, 0]


@pytest.mark.parametrize(("follows", "homes"), [("true", [[2, 700.0]]), ("false", [])])
def test_home_moves_with_the_drone(follows: str, homes: list[Any], tmp_path: Path) -> None:
    """From C major to G major: a fifth up, which is 700 cents in equal temperament."""
    more = f'keys = ["C major"]\npasses = 1\nstages = ["alone"]\ndrone.follow = {follows}'
    data = page_of("1*8 | G major: 1*8", more, tmp_path)
    assert data["sets"][0]["homes"] == homes


def test_the_page_says_what_the_signs_of_its_music_mean(tmp_path: Path) -> None:
    told = page_of("p1: 1*4 p3: 1*4", 'passes = 2\nstages = ["alone"]', tmp_path)["reading"]
    assert SHIFTS in told
    assert PASSES.format(passes=2) in told
