"""How soon a page is ready, and how large it is: its three promises, in a real browser.

    python tests/bench/page_speed.py

Told of each page: its size, and how long after it was asked for it can be seen and used (the
middle of five openings), and its sound begun. `Ready` is the page's own mark, set when everything
is drawn and answers; sound inside the file comes after it, and is read while the player looks.
Last, of a page that plays on a phone's screen: how many frames a second it draws.
"""

from __future__ import annotations

import shutil
import statistics
import sys
import tempfile
import time
from pathlib import Path
from typing import Any

import numpy as np

sys.path.append(str(Path(__file__).parents[1]))

from browser import FLAGS, chromium
from pages import manifest_of, page_of

from playalong.drill.load import parse
from playalong.drill.model import Drill
from playalong.sound.audio import write_audio
from playalong.sound.tags import Tags

OPENINGS = 5
PHONE = {"width": 390, "height": 844}
FRAMES_SECONDS = 10
AUDIO = "track-{}.mp3"
BAR = 'bar = "p1: 1 2 3 1 p3: 1 2 p1: 2 1"\nclimb = 4'
KEYS = '["F major", "D minor", "G major", "C major", "Bb major", "A minor", "Eb major", "G minor"]'
TEN = f"""strings = ["D", "A"]
keys = ["F major", "D minor", "G major", "C major", "Bb major"]
{BAR}
tempo = {{ start = 60, goal = 80 }}"""
# Eight keys on three strings, fourteen tempi, four stages.
MANY = f"""strings = ["G", "D", "A"]
keys = {KEYS}
{BAR}
tempo = {{ start = 60, goal = 112, step = "+4" }}"""
# As many minutes as make 60 MB of base64.
LARGE = f"""strings = ["D"]
keys = ["F major"]
{BAR}
tempo = {{ start = 60, goal = 108, step = "+4" }}"""
LARGE_BYTES = 60_000_000


def drill_of(more: str) -> Drill:
    return parse(f'title = "Bench"\ninstrument = "viola"\n{more}')


def page(drill: Drill, out: Path, minutes: float = 0.0, *, one_file: bool = False) -> Path:
    """A page of tracks that all hold the same noise, at 96 kbit/s."""
    manifest = manifest_of(drill, audio=AUDIO)
    if one_file:
        rng = np.random.default_rng(1)
        noise = (
            rng.uniform(-0.1, 0.1, 44_100).astype(np.float32) for _ in range(int(60 * minutes))
        )
        first = out / AUDIO.format(1)
        write_audio(first, noise, format="mp3", channels=1, tags=Tags("noise"))
        for number in range(2, len(manifest.tracks) + 1):
            shutil.copy(first, out / AUDIO.format(number))
    return page_of(drill, out, manifest, one_file=one_file)


def opened(browser: Any, file: Path, slower: int) -> tuple[float, float]:
    """Milliseconds until the page is ready, and until its track's sound is too; 0 without one."""
    context = browser.new_context(viewport={"width": 1200, "height": 900})
    tab = context.new_page()
    context.new_cdp_session(tab).send("Emulation.setCPUThrottlingRate", {"rate": slower})
    tab.goto(file.as_uri(), wait_until="commit")
    marks = []
    for mark in ("ready", "sound"):
        while not tab.evaluate(f"document.documentElement?.dataset.{mark}"):
            time.sleep(0.01)
        marks.append(float(tab.evaluate("performance.now()")))
    ready = float(tab.evaluate("document.documentElement.dataset.ready"))
    context.close()
    return ready, marks[-1]


def frames_ms(browser: Any, file: Path, slower: int) -> np.ndarray:
    """Milliseconds between the frames that are drawn while the music plays."""
    context = browser.new_context(viewport=PHONE, device_scale_factor=2)
    tab = context.new_page()
    tab.goto(file.as_uri())
    while not tab.evaluate("document.documentElement.dataset.sound"):
        time.sleep(0.01)
    context.new_cdp_session(tab).send("Emulation.setCPUThrottlingRate", {"rate": slower})
    tab.click("#play")
    while not tab.query_selector(".system .bar.now"):
        time.sleep(0.1)
    times = tab.evaluate(
        """async (seconds) => {
          const times = [performance.now()];
          while (times[times.length - 1] - times[0] < 1000 * seconds) {
            times.push(await new Promise(requestAnimationFrame));
          }
          return times;
        }""",
        FRAMES_SECONDS,
    )
    context.close()
    return np.diff(times)[1:]


def main() -> None:
    from playwright.sync_api import sync_playwright

    with tempfile.TemporaryDirectory() as place, sync_playwright() as manager:
        browser = manager.chromium.launch(executable_path=chromium(), args=FLAGS)
        print(f"Chromium {browser.version}, the middle of {OPENINGS} openings")
        large = drill_of(LARGE)
        minutes = LARGE_BYTES * 3 / 4 / 12_000 / 60 / len(manifest_of(large).tracks)
        for name, drill, length in (
            ("ten keys and strings, no sound", drill_of(TEN), 0.0),
            ("a set of many tracks, no sound", drill_of(MANY), 0.0),
            ("one file with its sound", large, minutes),
        ):
            out = Path(place, name)
            out.mkdir()
            file = page(drill, out, length, one_file=bool(length))
            print(f"{name}: {len(manifest_of(drill).tracks)} tracks, {file.stat().st_size:,} bytes")
            for slower in (1, 4):
                found = [opened(browser, file, slower) for _ in range(OPENINGS)]
                ready, heard = (statistics.median(column) for column in zip(*found, strict=True))
                sound = f", its sound after {heard:.0f} ms" if length else ""
                how = f"processor {slower} times slower: " if slower > 1 else ""
                print(f"  {how}ready after {ready:.0f} ms{sound}", flush=True)
        for slower in (1, 4):
            steps = frames_ms(browser, file, slower)
            print(
                f"playing, processor {slower} times slower: {1000 / steps.mean():.0f} frames "
                f"a second, 95 of 100 within {np.percentile(steps, 95):.1f} ms",
                flush=True,
            )
        browser.close()


if __name__ == "__main__":
    main()
