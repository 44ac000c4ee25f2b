"""One real build and one browser for all tests of the page."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import soundfile
from browser import FLAGS, MICROPHONE, PLAYED_HZ, Opened, chromium
from playing import BANK

from playalong.drill.load import parse
from playalong.drill.model import Drill
from playalong.folder.manifest import Manifest
from playalong.making.make import make
from playalong.making.plan import Options

DRILL = """
title      = "Third position, <b>slowly</b> & \\"softly\\""
instrument = "viola"
strings    = ["D"]
keys       = ["F major", "D minor"]
bar        = "p1: ( 1 2 ) 3*2 | p1: 1*1/2 2*1/2 3 p3: 1 3"
meter      = "2/4"
climb      = 2
stages     = ["listen", "answer", "check", "alone"]

[tempo]
start = 160
goal  = 168

[session]
play = 0.5
rest = 0.05
"""


@pytest.fixture(scope="session")
def drill() -> Drill:
    return parse(DRILL)


@pytest.fixture(scope="session")
def built(drill: Drill, tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Manifest]:
    """A folder of tracks with stems and sessions, with the page beside them."""
    out = tmp_path_factory.mktemp("page")
    manifest = make(drill, out, Options(bank=BANK, stems=True)).manifest
    return out, manifest


@pytest.fixture(scope="session")
def out(built: tuple[Path, Manifest]) -> Path:
    return built[0]


@pytest.fixture(scope="session")
def listed(built: tuple[Path, Manifest]) -> dict[str, Any]:
    """The manifest as a reader finds it."""
    return dict(json.loads((built[0] / "manifest.json").read_text(encoding="utf-8")))


@pytest.fixture(scope="session")
def browser(browsers: Any, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Any]:
    heard = tmp_path_factory.mktemp("microphone") / "played.wav"
    turn = 2 * np.pi * PLAYED_HZ * np.arange(48_000 * 8) / 48_000
    soundfile.write(heard, 0.4 * np.sin(turn) + 0.1 * np.sin(2 * turn), 48_000)
    started = browsers.chromium.launch(
        executable_path=chromium(), args=[*FLAGS, f"{MICROPHONE}{heard}"]
    )
    yield started
    started.close()


@pytest.fixture
def opened(browser: Any, out: Path) -> Iterator[Callable[..., Opened]]:
    """Opens the page, and at the end holds it to silence: no fault, no request elsewhere."""
    pages: list[Opened] = []

    def open_page(file: Path | None = None, **context: Any) -> Opened:
        pages.append(Opened(browser, file or out / "index.html", **context))
        return pages[-1]

    yield open_page
    for each in pages:
        each.close()
        assert each.faults == []
        here = each.file.resolve().parent.as_uri()
        assert [u for u in each.requests if not u.startswith((here, "data:", "blob:"))] == []
