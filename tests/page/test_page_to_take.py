"""The whole way: a track played to, recorded by the page, saved, and listened to by `take`."""

from __future__ import annotations

import json
import re
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from subprocess import run
from typing import Any

import numpy as np
import pytest
import soundfile
from browser import FLAGS, MICROPHONE, Opened, chromium
from played import Condition, Take, take_of
from recorded import RATE_HZ, bank_notes

import playalong
from playalong.take.find import Track, tracks_of

DRILL = """title = "Short"
instrument = "violin"
strings = ["D"]
keys = ["D major"]
bar = "p1: 1 2 p3: 1 2"
note = "quarter"
climb = 1
stages = ["alone"]
[tempo]
start = 152
goal = 152
"""
BEFORE_SECONDS = 1.2  # of silence that the microphone hears before the take
LOST_BLOCKS = 8  # in the middle, as when the computer is busy
LOSES_BLOCKS = f"""
  const Plain = AudioWorkletNode;
  AudioWorkletNode = class extends Plain {{
    constructor(...words) {{
      super(...words);
      let blocks = 0;
      this.port.addEventListener("message", (event) => {{
        blocks += 1;
        if (blocks > 1500 && blocks <= {1500 + LOST_BLOCKS}) event.stopImmediatePropagation();
      }});
    }}
  }};
"""


@dataclass(frozen=True)
class Played:
    """A track, and a take of it that the microphone hears."""

    track: Track
    take: Take
    heard: Path


@pytest.fixture(scope="module")
def played(tmp_path_factory: pytest.TempPathFactory) -> Played:
    folder = tmp_path_factory.mktemp("whole-way")
    options = playalong.Options(sheet=False, sessions=False)
    playalong.make(playalong.parse(DRILL), folder / "out", options)
    (track,) = tracks_of(folder / "out")
    condition = Condition("", leak_db=-25, start_seconds=BEFORE_SECONDS)
    take = take_of(track.timeline, track.read_sound(), bank_notes(), condition, seed=3)
    soundfile.write(folder / "heard.wav", np.pad(take.sound, (0, RATE_HZ)), RATE_HZ)
    return Played(track, take, folder / "heard.wav")


@pytest.fixture(scope="module")
def listening(browsers: Any, played: Played) -> Iterator[Any]:
    flags = [*FLAGS, f"{MICROPHONE}{played.heard}"]
    started = browsers.chromium.launch(executable_path=chromium(), args=flags)
    yield started
    started.close()


def test_what_the_page_records_is_told_within_three_cents(listening, played, tmp_path):
    """And what was lost on the way is told and stays silent in its place; the file's name leads to
    its track, so that `take` needs no second argument."""
    opened = Opened(listening, played.track.out / "index.html")
    opened.page.add_init_script(LOSES_BLOCKS)
    opened.open()
    opened.page.click("#microphone")
    opened.until("!document.getElementById('record').hidden")
    opened.page.click("#record")
    opened.until("!document.getElementById('save').hidden", played.track.timeline.seconds + 5)
    said = opened.page.inner_text("#take-words")
    with opened.page.expect_download() as download:
        opened.page.click("#save")
    path = played.track.out / download.value.suggested_filename
    download.value.save_as(path)
    opened.close()
    assert opened.faults == []
    lost = re.search(r"(\d+) ms are missing and are silent; the rest is in time", said)
    assert lost is not None, said
    assert int(lost[1]) >= int(LOST_BLOCKS * 128 / 44.1)  # a busy machine may lose more
    command = [sys.executable, "-m", "playalong.cli", "take", str(path), "--json", "--keep", "no"]
    done = run(command, capture_output=True, text=True, timeout=60)
    assert done.returncode == 0, done.stderr
    result = json.loads(done.stdout)
    assert not result["align"]["dropped"]
    told = {note["index"]: note for note in result["notes"]}
    judged = {index for index, note in told.items() if note["judged"]}
    assert len(judged) >= len(played.take.notes) - 1
    truths = played.take.notes
    assert max(abs(told[index]["cents"] - truths[index].cents) for index in judged) < 3
