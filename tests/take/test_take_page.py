"""The page of a take, in a real browser: read, played, and held to its policy."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import pytest
import soundfile
from axe_playwright_python.sync_playwright import Axe
from browser import DESK, FLAGS, PHONE, Opened, chromium, faint_words
from played import Condition, take_of
from recorded import RATE_HZ, Recorded

import playalong
from playalong.take.clock import OnTrackClock
from playalong.take.engraved import marks_over
from playalong.take.find import find, tracks_of
from playalong.take.listen import listen
from playalong.take.marks import sign
from playalong.take.overview import Listened
from playalong.take.pages import Written, write_take
from playalong.take.recording import opened as opened_recording

DRILL = """title = "A <b>bold</b> drill"
instrument = "violin"
strings = ["D"]
keys = ["D major"]
bar = "p1: 1 2 p3: 1 2"
note = "quarter"
climb = 2
stages = ["check"]
[tempo]
start = 72
goal = 72
"""


@pytest.fixture(scope="module")
def taken(
    recorded: list[Recorded], tmp_path_factory: pytest.TempPathFactory
) -> tuple[Listened, Written]:
    folder = tmp_path_factory.mktemp("page")
    options = playalong.Options(sheet=False, sessions=False)
    playalong.make(playalong.parse(DRILL), folder / "out", options)
    (track,) = tracks_of(folder / "out")
    condition = Condition("", leak_db=-25, wrong=0.4, missing=0.25)
    take = take_of(track.timeline, track.read_sound(), recorded, condition, 7)
    path = folder / "anna & co.wav"
    soundfile.write(path, take.sound, RATE_HZ)
    with opened_recording(path) as recording:
        (piece,) = find(recording, [track], path.stem)
        heard = listen(recording, piece.placed, track.read_sound(), track.timeline)
    listened = Listened(path, track.name, heard)
    return listened, write_take(listened, track, folder / "pages")


@pytest.fixture(scope="module")
def browser(browsers: Any) -> Iterator[Any]:
    flags = [*FLAGS, "--autoplay-policy=no-user-gesture-required"]
    started = browsers.chromium.launch(executable_path=chromium(), args=flags)
    yield started
    started.close()


@pytest.fixture
def page(browser: Any, taken: tuple[Listened, Written]) -> Iterator[Opened]:
    opened = Opened(browser, taken[1].page)
    yield opened
    opened.close()
    assert opened.faults == []
    assert [url for url in opened.requests if not url.startswith(("file:", "data:", "blob:"))] == []


def test_the_policy_lets_nothing_out(page):
    policy = page.page.get_attribute("meta[http-equiv]", "content")
    assert policy.startswith("default-src 'none'; script-src 'sha256-")
    assert "media-src blob:;" in policy
    assert len(page.requests) == 3  # the page, and the two sounds inside it


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("viewport", [DESK, PHONE], ids=["desk", "phone"])
def test_axe_finds_no_fault_and_nothing_reaches_beyond_the_sides(browser, taken, viewport, scheme):
    opened = Opened(browser, taken[1].page, viewport=viewport, color_scheme=scheme)
    found = Axe().run(opened.page).response
    assert [(each["id"], each["impact"]) for each in found["violations"]] == []
    assert {each["id"] for each in found["incomplete"]} <= {"color-contrast"}
    assert faint_words(opened.page) == []
    assert opened.page.evaluate("document.documentElement.scrollWidth") == viewport["width"]
    opened.close()


def test_a_touched_note_sounds_and_then_the_tracks(page, taken):
    index = next(note.index for note in taken[0].heard.notes if note.heard)
    page.page.click(f'.notes [data-note="{index}"]')
    page.until("!document.getElementById('recording').paused")
    page.until("document.getElementById('recording').paused")
    page.until("!document.getElementById('track').paused || document.querySelector('.now')")


def test_the_keyboard_plays_and_goes_from_note_to_note(page):
    """The first note is the first one; back at the beginning none is marked."""
    first = "document.querySelector('#curve .now')?.dataset.note === '1'"
    page.page.keyboard.press("ArrowRight")
    page.until(first)
    page.page.keyboard.press("ArrowRight")
    page.until("document.querySelector('#curve .now').dataset.note === '2'")
    page.page.keyboard.press("Home")
    page.until("document.querySelector('#curve .now') === null")
    page.page.keyboard.press("ArrowRight")
    page.until(first)
    page.page.keyboard.press(" ")
    page.until("!document.getElementById('recording').paused")
    page.until("Number(document.getElementById('now').getAttribute('x1')) > 20")
    page.page.keyboard.press(" ")
    page.until("document.getElementById('recording').paused")


def test_every_note_is_told_in_words(page, taken):
    told = page.page.inner_text(".notes")
    for note in taken[0].heard.notes:
        assert f"Bar {note.note.bar} beat {note.note.beat + 1:g}" in told
    assert "not heard" in told
    assert "another note" in told


def test_a_title_is_only_text(page):
    assert "A <b>bold</b> drill" in page.page.inner_text("h1")


def test_the_recording_on_the_page_keeps_the_tracks_time(page, taken):
    seconds = page.page.evaluate("document.getElementById('recording').duration")
    assert seconds == pytest.approx(taken[0].heard.timeline.seconds, abs=0.06)
    with opened_recording(taken[0].recording) as recording:
        assert OnTrackClock(recording, taken[0].heard.placed).from_seconds < 0


def test_a_page_is_not_written_over_another_of_the_same_run(taken, tmp_path):
    """Of a track that was played twice, or of recordings of one name."""
    listened, written = taken
    (track,) = tracks_of(listened.recording.parent / "out")
    stem = written.page.name.removesuffix(".take.html")
    one = write_take(listened, track, tmp_path)
    two = write_take(listened, track, tmp_path, [one.page])
    assert two.page.name == f"{stem}.2.take.html"
    assert two.sheet.name == f"{stem}.2.take.svg"


def test_marks_that_would_touch_stand_in_lanes(taken):
    """A grace note's mark and its note's are an eighth of an inch apart."""
    listened, _ = taken
    first, second, third = listened.heard.notes[:3]
    notes = {0: [first], 1: [second], 2: [third]}
    system = {"columns": {"n0": 1000, "n1": 1250, "n2": 3000}}
    (row,) = marks_over(system, notes)
    assert [lane for _, lane, _ in row.placed] == [0, 1, 0]
    assert row.lanes == 2


def test_the_marked_sheet_bears_every_sign(taken):
    listened, written = taken
    root = ElementTree.fromstring(Path(written.sheet).read_text(encoding="utf-8"))
    marks = {
        int(each.attrib["data-note"]): each.text
        for each in root.iter("{http://www.w3.org/2000/svg}text")
        if "data-note" in each.attrib
    }
    for note in listened.heard.notes:
        assert marks[note.index] == (sign(note) or "·")
    assert root[0].text.startswith("A <b>bold</b> drill: D major, D string, tempo 72, check; anna")
    assert "( ) not heard" in "".join(root.itertext())
