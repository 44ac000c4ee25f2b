"""How the page plays in real browsers, heard through a virtual sound card.

    apt-get install -y firefox-esr webkit2gtk-driver xvfb pulseaudio pulseaudio-utils \\
        gstreamer1.0-plugins-good gstreamer1.0-libav gstreamer1.0-pulseaudio
    xvfb-run -a python tests/bench/browsers.py [chromium firefox webkit]

Told of each: how far a loop's turns are from their length, the longest silence in them, seen and
hidden; how much later than the sound the first beat of a bar is shown; and whether the click falls
silent while it plays. The sound is a click every bar of two seconds over a drone, so that any gap
is a silence, and what is shown up to a second late or early is told as that.
"""

from __future__ import annotations

import json
import os
import shutil
import socket
import subprocess
import sys
import tempfile
import time
import urllib.request
from pathlib import Path
from typing import Any

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1]))
from browser import FLAGS

from playalong.drill.load import parse
from playalong.making.make import make
from playalong.making.plan import Options

RATE_HZ = 48_000
LISTEN_SECONDS = 15
CLICK_PEAK = 0.3  # the drone alone stays below it
DRILL = """
title = "Bench"
instrument = "viola"
strings = ["D"]
keys = ["F major"]
bar = "p1: 1 2 3 1"
note = "quarter"
passes = 1
climb = 2
stages = ["listen"]
tempo = { start = 120, goal = 120 }
drone = { on = "tonic and fifth" }
click = { every = "bar" }
"""
BAR_SECONDS = 2.0


class Card:
    """A sound server of its own with a null sink, and a recorder on it."""

    def __init__(self, folder: Path) -> None:
        self.address = f"unix:{folder}/pulse"
        native = f"module-native-protocol-unix socket={folder}/pulse auth-anonymous=1"
        sink = f"module-null-sink sink_name=out rate={RATE_HZ} channels=2"
        command = ["pulseaudio", "-n", "--exit-idle-time=-1", f"--load={native}", f"--load={sink}"]
        self.server = subprocess.Popen(command, stderr=subprocess.DEVNULL)
        time.sleep(1.5)
        self.env = {**os.environ, "PULSE_SERVER": self.address, "PULSE_SINK": "out"}

    def record(self, seconds: float) -> tuple[float, np.ndarray]:
        """Wall clock of the first frame, and the sound in mono."""
        form = ["--format=float32le", f"--rate={RATE_HZ}", "--channels=1", "--latency-msec=10"]
        command = ["parec", "-d", "out.monitor", *form]
        with subprocess.Popen(command, env=self.env, stdout=subprocess.PIPE) as recorder:
            first = recorder.stdout.read(4)
            begun = time.time()
            raw = first + recorder.stdout.read(4 * int(seconds * RATE_HZ))
            recorder.terminate()
        return begun, np.frombuffer(raw[: len(raw) // 4 * 4], np.float32)


class Chromium:
    def __init__(self, card: Card, _folder: Path) -> None:
        from playwright.sync_api import sync_playwright

        self.manager = sync_playwright().start()
        self.browser = self.manager.chromium.launch(
            executable_path=shutil.which("chromium"), args=FLAGS, env=card.env,
            ignore_default_args=["--mute-audio"], headless=False,
        )  # fmt: skip
        self.context = self.browser.new_context()
        self.page = self.context.new_page()
        self.version = self.browser.version

    def go(self, address: str) -> None:
        self.page.goto(address)

    def run(self, script: str) -> Any:
        return self.page.evaluate(f"() => {{ {script} }}")

    def press(self, name: str) -> None:
        self.page.click(f"#{name}")

    def hide(self) -> None:
        self.context.new_page().bring_to_front()

    def close(self) -> None:
        self.browser.close()
        self.manager.stop()


class Firefox:
    """By Marionette, its own remote protocol: lengths and JSON over a socket."""

    def __init__(self, card: Card, folder: Path) -> None:
        profile = folder / "firefox"
        profile.mkdir()
        (profile / "user.js").write_text('user_pref("marionette.port", 2831);\n')
        env = {**card.env, "HOME": str(profile), "MOZ_DISABLE_CONTENT_SANDBOX": "1"}
        command = ["firefox-esr", "--marionette", "--no-remote", "--profile", str(profile)]
        self.process = subprocess.Popen(command, env=env, stderr=subprocess.DEVNULL)
        for _ in range(300):
            try:
                self.socket = socket.create_connection(("127.0.0.1", 2831))
                break
            except OSError:
                time.sleep(0.1)
        self.count = 0
        self._read()
        self.version = self.do("NewSession", {})["capabilities"]["browserVersion"]

    def _read(self) -> Any:
        size = b""
        while (letter := self.socket.recv(1)) != b":":
            size += letter
        raw = b""
        while len(raw) < int(size):
            raw += self.socket.recv(int(size) - len(raw))
        return json.loads(raw)

    def do(self, name: str, what: dict[str, Any]) -> Any:
        self.count += 1
        raw = json.dumps([0, self.count, f"WebDriver:{name}", what]).encode()
        self.socket.sendall(b"%d:%b" % (len(raw), raw))
        _, _, error, answer = self._read()
        assert not error, error
        return answer

    def go(self, address: str) -> None:
        self.do("Navigate", {"url": address})

    def run(self, script: str) -> Any:
        return self.do("ExecuteScript", {"script": script, "args": []})["value"]

    def press(self, name: str) -> None:
        found = self.do("FindElement", {"using": "css selector", "value": f"#{name}"})
        self.do("ElementClick", {"id": next(iter(found["value"].values()))})

    def hide(self) -> None:
        handle = self.do("NewWindow", {"type": "tab"})["handle"]
        self.do("SwitchToWindow", {"handle": handle, "focus": True})

    def close(self) -> None:
        self.process.terminate()
        self.process.wait(20)


class WebKit:
    """By its W3C WebDriver."""

    BINARY = "/usr/lib/x86_64-linux-gnu/webkit2gtk-4.1/MiniBrowser"

    def __init__(self, card: Card, _folder: Path) -> None:
        env = {**card.env, "WEBKIT_DISABLE_SANDBOX_THIS_IS_DANGEROUS": "1"}
        command = ["WebKitWebDriver", "--port=4457"]
        self.process = subprocess.Popen(command, env=env, stderr=subprocess.DEVNULL)
        time.sleep(1.5)
        options = {"binary": self.BINARY, "args": ["--automation"]}
        wanted = {"capabilities": {"alwaysMatch": {"webkitgtk:browserOptions": options}}}
        self.session = ""
        made = self.do("POST", "", wanted)
        self.session = f"/{made['sessionId']}"
        self.version = made["capabilities"]["browserVersion"]

    def do(self, method: str, path: str, what: Any = None) -> Any:
        raw = None if what is None else json.dumps(what).encode()
        address = f"http://127.0.0.1:4457/session{self.session}{path}"
        request = urllib.request.Request(address, raw, method=method)
        with urllib.request.urlopen(request, timeout=60) as answer:
            return json.load(answer)["value"]

    def go(self, address: str) -> None:
        self.do("POST", "/url", {"url": address})

    def run(self, script: str) -> Any:
        return self.do("POST", "/execute/sync", {"script": script, "args": []})

    def press(self, name: str) -> None:
        found = self.do("POST", "/element", {"using": "css selector", "value": f"#{name}"})
        self.do("POST", f"/element/{next(iter(found.values()))}/click", {})

    def hide(self) -> None:
        handle = self.do("POST", "/window/new", {"type": "tab"})["handle"]
        self.do("POST", "/window", {"handle": handle})

    def close(self) -> None:
        self.do("DELETE", "")
        self.process.terminate()


def onsets(sound: np.ndarray) -> np.ndarray:
    """Frames at which clicks begin: what is sharp in the sound rises fast."""
    sharp = np.abs(np.diff(sound, 3, prepend=[0, 0, 0]))
    loud = sharp > 0.3 * np.sort(sharp)[-RATE_HZ // 100]
    frames = np.flatnonzero(loud)
    return frames[np.diff(frames, prepend=-RATE_HZ) > RATE_HZ // 10]


def longest_silence_ms(sound: np.ndarray) -> float:
    """Where nothing is heard at all, as the drone always is."""
    frames = np.flatnonzero(np.abs(sound) > 1e-4)
    return float(1000 * np.diff(frames).max() / RATE_HZ)


def turn_error_ms(sound: np.ndarray) -> float:
    """How far the sound, one turn later, must be moved to fit itself best."""
    turn, reach = round(BAR_SECONDS * RATE_HZ), 480
    piece = sound[RATE_HZ : RATE_HZ + 2 * turn]
    fits = [
        np.dot(piece, sound[RATE_HZ + turn + shift :][: len(piece)])
        for shift in range(-reach, reach + 1)
    ]
    return 1000 * (int(np.argmax(fits)) - reach) / RATE_HZ


def level(name: str, value: float) -> str:
    """What sets a stem's loudness, as the player does. The guide is off while clicks are looked
    for: its bow is as sharp as they are."""
    box = f'document.getElementById("{name}-level")'
    return f'{box}.value = {value}; {box}.dispatchEvent(new Event("input"));'


def measure(browser: Any, card: Card, page: str) -> dict[str, Any]:
    browser.go(page)
    time.sleep(2)
    browser.run(
        'const box = document.getElementById("to-bar"); box.value = "1";'
        'box.dispatchEvent(new Event("change"));'
        "window.shown = []; const list = document.getElementById('beats');"
        "new MutationObserver(() => { const now = list.querySelector('.now');"
        " if (now && now.textContent !== window.last) { window.last = now.textContent;"
        " if (window.last === '1') window.shown.push(Date.now() / 1000); } })"
        ".observe(list, { subtree: true, attributes: true });" + level("guide", 0)
    )
    browser.press("play")
    time.sleep(1.5)
    begun, sound = card.record(LISTEN_SECONDS)
    shown = np.array(browser.run("return window.shown"))
    heard = begun + onsets(sound) / RATE_HZ
    late = [shown[np.argmin(np.abs(shown - at))] - at for at in heard[1:-1]]
    found = {
        "loop off by, ms": round(turn_error_ms(sound), 2),
        "longest silence, ms": round(longest_silence_ms(sound), 2),
        "shown after heard, ms (median)": round(1000 * float(np.median(late))),
        "least and most, ms": [round(1000 * float(edge)) for edge in (min(late), max(late))],
    }
    browser.run(level("click", 0))
    time.sleep(0.5)
    _, alone = card.record(5)
    found["clicks left of 2 when turned off"] = (
        len(onsets(alone)) if alone.max() > CLICK_PEAK else 0
    )
    found["silence while balanced, ms"] = round(longest_silence_ms(alone), 2)
    browser.hide()
    time.sleep(2)
    _, hidden = card.record(LISTEN_SECONDS)
    found["hidden: loop off by, ms"] = round(turn_error_ms(hidden), 2)
    found["hidden: longest silence, ms"] = round(longest_silence_ms(hidden), 2)
    return found


def main(names: list[str]) -> None:
    kinds = {"chromium": Chromium, "firefox": Firefox, "webkit": WebKit}
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place)
        make(parse(DRILL), folder / "set", Options(stems=True))
        card = Card(folder)
        try:
            for name in names or list(kinds):
                browser = kinds[name](card, folder)
                try:
                    found = measure(browser, card, (folder / "set/index.html").as_uri())
                    print(name, browser.version, json.dumps(found, indent=1), flush=True)
                finally:
                    browser.close()
        finally:
            card.server.terminate()


if __name__ == "__main__":
    main(sys.argv[1:])
