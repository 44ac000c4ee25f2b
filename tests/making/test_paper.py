"""The page of a build is made from the timelines that stand beside its tracks."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from playing import BANK

from playalong.drill.load import parse
from playalong.drill.model import Drill
from playalong.drill.stage import Stage
from playalong.folder.manifest import Manifest
from playalong.making import session
from playalong.making.make import make
from playalong.making.paper import make_page
from playalong.making.plan import Options, plan_build
from playalong.performance.perform import perform
from playalong.performance.performance import Performance
from playalong.score.model import Score

OPTIONS = Options(bank=BANK, sheet=False)
PAGE = "index.html"


@pytest.fixture(scope="module")
def drill() -> Drill:
    """Two tracks of three places, each longer than the player may play at a stretch."""
    return parse(
        'title = "T"\ninstrument = "viola"\nstrings = ["D"]\nkeys = ["F major"]\n'
        'bar = "p1: 1 2 p3: 1 2"\nnote = "quarter"\nclimb = 3\nstages = ["listen", "alone"]\n'
        "passes = 2\ntempo = { start = 60, goal = 60 }\nsession = { play = 0.5, rest = 0.05 }"
    )


@pytest.fixture(scope="module")
def built(drill: Drill, tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Manifest]:
    out = tmp_path_factory.mktemp("built")
    return out, make(drill, out, OPTIONS).manifest


@pytest.fixture
def again(drill: Drill, built: tuple[Path, Manifest]) -> Iterator[bytes]:
    """The page as it stood; afterwards it stands so again."""
    before = (built[0] / PAGE).read_bytes()
    yield before
    (built[0] / PAGE).write_bytes(before)


def page(drill: Drill, built: tuple[Path, Manifest]) -> bytes:
    out, manifest = built
    listed = replace(manifest, sheet={})  # as it was before the page stood
    make_page(drill, [plan_build(drill, OPTIONS).rungs], listed, OPTIONS, out)
    return (out / PAGE).read_bytes()


def test_only_the_parts_of_a_track_are_performed_for_the_page(
    drill: Drill, built: tuple[Path, Manifest], again: bytes, monkeypatch: pytest.MonkeyPatch
) -> None:
    performed: list[slice] = []

    def noted(score: Score, bpm: int, stage: Stage, *, stands: slice) -> Performance:
        performed.append(stands)
        return perform(score, bpm, stage, stands=stands)

    monkeypatch.setattr(session, "perform", noted)
    assert page(drill, built) == again
    assert performed == [slice(0, 2), slice(2, 4)] * 2


def test_a_timeline_without_bars_is_made_anew(
    drill: Drill, built: tuple[Path, Manifest], again: bytes
) -> None:
    """As the first versions wrote it, or where it cannot be read at all."""
    out, manifest = built
    file = out / manifest.tracks[0].timeline
    whole = file.read_text(encoding="utf-8")
    told = json.loads(whole)
    del told["bars"]
    for text in (json.dumps(told), "{", "[]"):
        file.write_text(text, encoding="utf-8")
        assert page(drill, built) == again
    file.unlink()
    assert page(drill, built) == again
    file.write_text(whole, encoding="utf-8")
