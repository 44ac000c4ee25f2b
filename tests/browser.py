"""A real browser for the page's tests: Debian's Chromium, driven by Playwright."""

from __future__ import annotations

import json
import random
import shutil
import time
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import pytest

FLAGS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--no-first-run",
    "--use-fake-device-for-media-stream",  # a microphone that hears a file, without asking
    "--use-fake-ui-for-media-stream",
]
MICROPHONE = "--use-file-for-fake-audio-capture="
PLAYED_HZ = 330.5  # what the microphone hears, all the time
PHONE = {"width": 390, "height": 844}
DESK = {"width": 1200, "height": 900}


def chromium() -> str:
    found = shutil.which("chromium")
    if found is None:
        pytest.fail("the page's tests need a browser: apt-get install -y chromium")
    return found


class Opened:
    """A page that was opened from its folder, and all that it said and asked for."""

    def __init__(self, browser: Any, file: Path, **context: Any) -> None:
        self.file = file
        self.context = browser.new_context(**{"viewport": DESK, **context})
        self.faults: list[str] = []
        self.requests: list[str] = []
        self.context.on("request", lambda request: self.requests.append(request.url))
        self.page = self.context.new_page()
        self.page.on("console", lambda message: self.faults.append(message.text))
        self.page.on("pageerror", lambda error: self.faults.append(str(error)))
        self.page.on("requestfailed", self.failed)
        self.open()

    def failed(self, request: Any) -> None:
        """A sound that is left before it is read to its end is no fault."""
        if request.failure != "net::ERR_ABORTED":
            self.faults.append(f"{request.url}: {request.failure}")

    def open(self) -> None:
        self.page.goto(self.file.resolve().as_uri())
        self.until("document.documentElement.dataset.ready")
        self.until("document.documentElement.dataset.sound")  # of the track, and ready to be heard

    def until(self, condition: str, seconds: float = 5.0) -> None:
        """Ask again and again: the page's policy lets no browser tool evaluate inside it."""
        end = time.monotonic() + seconds
        while not self.page.evaluate(condition):
            assert time.monotonic() < end, condition
            self.page.wait_for_timeout(20)

    def close(self) -> None:
        self.context.close()

    @property
    def ready_ms(self) -> int:
        return int(self.page.evaluate("document.documentElement.dataset.ready"))

    @property
    def time(self) -> float:
        return float(self.page.evaluate("document.getElementById('way').value"))

    @property
    def playing(self) -> bool:
        return bool(self.page.evaluate("document.documentElement.matches('.playing')"))

    @property
    def state(self) -> str:
        return str(self.page.inner_text("#state"))

    def choose(self, **values: object) -> None:
        for name, value in values.items():
            if name in ("tempo", "stage"):
                self.page.click(f'#{name} button[value="{value}"]')
            else:
                self.page.select_option(f"#{name}", str(value))

    def chosen(self, name: str) -> str:
        """Of the tempi or the stages."""
        pressed = self.page.locator(f'#{name} button[aria-pressed="true"]')
        return str(pressed.get_attribute("value"))

    def marks_at(self, times: list[float]) -> list[dict[str, Any]]:
        """Seek to each time and tell which note and bar are marked there."""
        found = self.page.evaluate(
            """(times) => {
              const way = document.getElementById("way"), found = [];
              for (const t of times) {
                way.value = t;
                way.dispatchEvent(new Event("input"));
                const heads = [...document.querySelectorAll(".head.now")];
                const bar = document.querySelector(".bar.now");
                found.push({
                  at: Number(way.value),
                  notes: [...new Set(heads.map((head) => Number(head.dataset.note)))],
                  yours: heads.some((head) => head.classList.contains("yours")),
                  bar: bar ? Number(bar.dataset.bar) : null,
                  state: document.getElementById("state").textContent,
                });
              }
              return found;
            }""",
            times,
        )
        return list(found)


def faint_words(page: Any, least: float = 4.5) -> list[tuple[str, float]]:
    """Every word that stands out less from what lies behind it, and how much (WCAG 2.2, 1.4.3).

    Colours are those that the browser computes, grounds what it finds under the middle of the word;
    what cannot be pressed now is left out, as the standard does.
    """
    seen = page.evaluate(
        """() => {
          const numbers = (colour) => colour.match(/[\\d.]+/g)?.map(Number) ?? [0, 0, 0, 0];
          const shows = (colour) => colour !== "none" && (numbers(colour)[3] ?? 1) === 1;
          const own = (each) => [...each.childNodes].some((n) => n.nodeType === 3 && n.data.trim());
          const skipped = "script, style, noscript, option, .unseen, :disabled, :disabled *";
          return [...document.querySelectorAll("body *")]
            .filter((each) => own(each) && !each.matches(skipped) && each.getClientRects().length)
            .map((each) => {
              each.scrollIntoView({ block: "center", inline: "center", behavior: "instant" });
              const style = getComputedStyle(each), is_drawn = each.closest("svg");
              const [{ x, y, width, height }] = each.getClientRects();
              const here = document.elementsFromPoint(x + width / 2, y + height / 2);
              const grounds = here.slice(here.indexOf(each) + Boolean(is_drawn)).map((other) => {
                const { fill, backgroundColor } = getComputedStyle(other);
                return other.matches("rect, path") ? fill : backgroundColor;
              });
              const wall = getComputedStyle(document.body).backgroundColor;
              const ground = grounds.find(shows) ?? wall;
              const ink = is_drawn ? style.fill : style.color;
              const seen = here.includes(each) || style.pointerEvents === "none";
              return [each.textContent, numbers(ink), numbers(ground), seen];
            });
        }"""
    )
    assert seen
    hidden = [(words, -1.0) for words, _, _, found in seen if not found]
    told = [(words, contrast(ink[:3], ground[:3])) for words, ink, ground, _ in seen]
    return [*hidden, *((words, ratio) for words, ratio in told if ratio < least)]


def luminance(channels: Sequence[float]) -> float:
    """WCAG 2.2, relative luminance, of red, green and blue from 0 to 255."""
    shares = [c / 255 for c in channels]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in shares]
    return sum(w * each for w, each in zip((0.2126, 0.7152, 0.0722), linear, strict=True))


def contrast(one: Sequence[float], other: Sequence[float]) -> float:
    lower, higher = sorted((luminance(one), luminance(other)))
    return (higher + 0.05) / (lower + 0.05)


def read_timeline(out: Path, track: dict[str, Any]) -> dict[str, Any]:
    return dict(json.loads((out / track["timeline"]).read_text(encoding="utf-8")))


def random_times(seconds: float, count: int, seed: object) -> list[float]:
    """Times in microseconds, as the browser keeps them."""
    chosen = random.Random(str(seed))
    return [round(chosen.uniform(0.0, seconds - 0.05), 6) for _ in range(count)]


def sounding(timeline: dict[str, Any], t: float) -> dict[str, Any] | None:
    """The timeline's note at t, heard or not."""
    notes = [note for note in timeline["notes"] if note["role"] == "note"]
    return next((note for note in notes if note["from"] <= t < note["to"]), None)
