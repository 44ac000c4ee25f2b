"""The file itself: small, closed to the outside, and inert whatever a person writes."""

from __future__ import annotations

import base64
import hashlib
import json
import re
import shutil
import threading
import tracemalloc
from dataclasses import replace
from http.server import BaseHTTPRequestHandler, HTTPServer

import numpy as np
import pytest
from browser import Opened
from pages import manifest_of, page_of

from playalong.drill.load import load, parse
from playalong.folder.files import WriteError
from playalong.folder.manifest import Manifest
from playalong.page.content import PageError
from playalong.page.html import write_page
from playalong.shipped import demo_folder
from playalong.sound.audio import write_audio
from playalong.sound.tags import Tags

HOSTILE = [
    "<script>document.title='taken'</script>",
    "</script><script>document.title='taken'</script><!--",
    "\" onload=\"document.title='taken'\" '",
    "{{script}} {{data}} \\u003c &lt;b&gt; ${1}",
    "ü♭𝄞 " * 2500,
]


def test_the_policy_lets_nothing_run_but_the_pages_own_script_and_style(out):
    text = (out / "index.html").read_text(encoding="utf-8")
    policy = re.search(r'Content-Security-Policy" content="([^"]*)"', text)[1]
    assert policy.startswith("default-src 'none';")
    for tag in ("script", "style"):
        body = re.search(rf"<{tag}>(.*?)</{tag}>", text, re.DOTALL)[1]
        digest = base64.b64encode(hashlib.sha256(body.encode()).digest()).decode()
        assert f"{tag}-src 'sha256-{digest}'" in policy
    assert "unsafe" not in policy
    assert not re.search(r"https?://(?!www\.w3\.org/2000/svg)", text)
    assert " style=" not in text


def test_what_is_slipped_into_the_file_does_not_run_and_nothing_can_be_sent(browser, out, tmp_path):
    """Scripts as a stranger could write them into the file; and a request of a script that ran."""
    page = tmp_path / "index.html"
    taken = "document.title = 'taken'"
    slipped = f'<script>{taken}</script><script src="data:text/javascript,{taken}"></script>'
    slipped += f'<img src="x" onerror="{taken}"><iframe srcdoc="<script>parent.{taken}</script>">'
    text = (out / "index.html").read_text(encoding="utf-8")
    page.write_text(text.replace("<header", f"{slipped}</iframe><header"), encoding="utf-8")
    opened = Opened(browser, page)
    assert opened.page.title().startswith("Third position")
    refused = "fetch('https://example.org/').then(() => 'sent', () => 'refused')"
    assert opened.page.evaluate(refused) == "refused"
    assert any("connect-src" in fault or "default-src" in fault for fault in opened.faults)
    opened.close()


def test_the_same_tracks_give_the_same_page(built, drill, tmp_path):
    _, manifest = built
    pages = []
    for name in ("one", "two"):
        (tmp_path / name).mkdir()
        pages.append(page_of(drill, tmp_path / name, manifest).read_bytes())
    assert pages[0] == pages[1]


@pytest.mark.parametrize("file", sorted(path.name for path in demo_folder().glob("*.toml")))
def test_the_page_of_every_demo_is_below_250_kb_without_its_sound(file, tmp_path):
    drill = load(demo_folder() / file)
    assert page_of(drill, tmp_path).stat().st_size < 250_000


def test_ten_keys_and_strings_in_seven_tempi_are_below_250_kb(tmp_path):
    """280 tracks, four places of one bar."""
    drill = parse(
        'title = "T"\ninstrument = "viola"\nstrings = ["D", "A"]\n'
        'keys = ["F major", "D minor", "G major", "C major", "Bb major"]\n'
        'bar = "p1: 1 2 3 1 p3: 1 2 p1: 2 1"\nclimb = 4\n[tempo]\nstart = 60\ngoal = 80'
    )
    assert len(manifest_of(drill).tracks) == 280
    assert page_of(drill, tmp_path).stat().st_size < 250_000


@pytest.mark.parametrize("title", HOSTILE, ids=["script", "end", "quote", "braces", "long"])
def test_a_title_is_only_ever_text(opened, built, drill, tmp_path, title):
    out, manifest = built
    shutil.copytree(out / "page", tmp_path / "page")
    named = replace(drill, title=title)
    page = opened(page_of(named, tmp_path, manifest), viewport={"width": 390, "height": 844})
    assert page.page.evaluate("document.querySelector('h1').textContent") == title
    assert page.page.evaluate("document.title") == " ".join(title.split())
    assert page.page.evaluate("document.documentElement.scrollWidth") == 390
    assert page.page.evaluate("document.querySelectorAll('script').length") == 2


def test_one_file_needs_no_other_and_is_ready_within_a_second(browser, tmp_path):
    """Ten tracks of a minute at 96 kbit/s; the best of three openings, on any machine's bad day."""
    drill = parse(
        'title = "T"\ninstrument = "viola"\nstrings = ["D"]\nkeys = ["F major"]\n'
        'bar = "p1: 1 2 3 1 p3: 1 2 p1: 2 1"\nclimb = 4\nstages = ["listen", "alone"]\n'
        '[tempo]\nstart = 60\ngoal = 76\nstep = "+4"'
    )
    manifest = manifest_of(drill, audio="track-{}.mp3")
    assert len(manifest.tracks) == 10
    minute = np.random.default_rng(1).uniform(-0.1, 0.1, 60 * 44_100).astype(np.float32)
    write_audio(tmp_path / "track-1.mp3", [minute], format="mp3", channels=1, tags=Tags("noise"))
    for number in range(2, 11):
        shutil.copy(tmp_path / "track-1.mp3", tmp_path / f"track-{number}.mp3")
    assert page_of(drill, tmp_path, manifest, one_file=True).name == "index.html"
    for number in range(1, 11):
        (tmp_path / f"track-{number}.mp3").unlink()
    assert (tmp_path / "index.html").stat().st_size > 9_000_000
    ready = []
    for _ in range(3):
        page = Opened(browser, tmp_path / "index.html")
        ready.append(page.ready_ms)
        page.choose(tempo=64)
        page.page.click("#play")
        page.until("document.getElementById('way').value > 0.2")
        assert page.faults == []
        page.close()
    assert min(ready) < 1000


def test_a_track_inside_can_be_heard_before_those_after_it_have_been_read(browser, tmp_path):
    """The page comes up to its second sound; the rest only when the first is ready to be heard."""
    drill = parse('title = "T"\ninstrument = "viola"\nbar = "p1: 1 2 3 1 p3: 1 2 p1: 2 1"')
    manifest = manifest_of(drill, audio="track-{}.mp3")
    second = np.zeros(44_100, dtype=np.float32)
    for number in range(1, len(manifest.tracks) + 1):
        name = tmp_path / f"track-{number}.mp3"
        write_audio(name, [second], format="mp3", channels=1, tags=Tags("none"))
    whole = page_of(drill, tmp_path, manifest, one_file=True).read_bytes()
    come = whole.index(b'id="sound-1">') + 100
    go_on = threading.Event()

    class Slow(BaseHTTPRequestHandler):
        def do_GET(self) -> None:
            self.send_response(200)
            self.send_header("Content-Type", "text/html; charset=utf-8")
            self.send_header("Content-Length", str(len(whole)))
            self.end_headers()
            self.wfile.write(whole[:come])
            go_on.wait(30)
            self.wfile.write(whole[come:])

        def log_message(self, *_: object) -> None:
            """Say nothing."""

    server = HTTPServer(("127.0.0.1", 0), Slow)
    threading.Thread(target=server.serve_forever, daemon=True).start()
    page = browser.new_page()
    try:
        page.goto(f"http://127.0.0.1:{server.server_port}/", wait_until="commit")
        for _ in range(250):
            if page.evaluate("document.documentElement.dataset.sound"):
                break
            page.wait_for_timeout(20)
        assert page.evaluate("document.documentElement.dataset.sound") == "track-1.mp3"
        assert page.evaluate("document.readyState") == "loading"
        assert page.evaluate("document.getElementById('sound-2')") is None
        go_on.set()
        page.wait_for_load_state("domcontentloaded")
    finally:
        go_on.set()
        page.close()
        server.shutdown()
        server.server_close()


@pytest.mark.parametrize(
    ("meter", "seen", "spoken"),
    [("4/4", "♩ = 54", "54 beats a minute"), ("6/8", "54 beats a minute", "54 beats a minute")],
)
def test_the_only_tempo_stands_beside_the_key(browser, tmp_path, meter, seen, spoken):
    """And with the sound inside the sheet is inside too."""
    count = 8 if meter == "4/4" else 6
    bar = "p1:" + " 1 2" * (count // 2)
    drill = parse(
        'title = "T"\ninstrument = "viola"\nstrings = ["D"]\nkeys = ["F major"]\n'
        f'bar = "{bar}"\nmeter = "{meter}"\nstages = ["listen"]\n'
        "tempo = { start = 54, goal = 54 }"
    )
    second = np.zeros(44_100, dtype=np.float32)
    write_audio(tmp_path / "track-1.mp3", [second], format="mp3", channels=1, tags=Tags("none"))
    (tmp_path / "sheet.pdf").write_bytes(b"%PDF-1.4 a sheet")
    manifest = replace(manifest_of(drill, audio="track-{}.mp3"), sheet={"pdf": "sheet.pdf"})
    page_of(drill, tmp_path, manifest, one_file=True)
    for width in (390, 1200):
        page = Opened(browser, tmp_path / "index.html", viewport={"width": width, "height": 844})
        shown = page.page.locator("#place")
        assert seen in shown.inner_text()
        assert page.page.locator("#place").aria_snapshot().endswith(f"F major, {spoken}")
        assert page.page.evaluate("document.documentElement.scrollWidth") == width
        page.until("document.getElementById('print').href.startsWith('blob:')")
        assert page.faults == []
        page.close()


def test_the_sound_goes_inside_piece_by_piece_and_comes_out_as_it_was(tmp_path):
    """Memory does not grow with the sound: 40 MB of it take a few."""
    drill = parse(
        'title = "T"\ninstrument = "viola"\nbar = "p1: 1 2 3 1 p3: 1 2 p1: 2 1"\n'
        'stages = ["listen"]\n'
    )
    sound = np.random.default_rng(2).bytes(40_000_001)
    (tmp_path / "track-1.mp3").write_bytes(sound)
    manifest = manifest_of(drill, audio="track-{}.mp3")
    tracemalloc.start()
    page_of(drill, tmp_path, manifest, one_file=True)
    _, most_bytes = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert most_bytes < 20_000_000
    text = (tmp_path / "index.html").read_text(encoding="utf-8")
    inside = re.search(r'id="sound-0">(.*?)</script>', text, re.DOTALL)[1]
    assert base64.b64decode(inside, validate=True) == sound


def test_a_file_that_is_missing_is_named_when_the_sound_goes_inside(drill, built, tmp_path):
    with pytest.raises(WriteError, match=r"cannot read .*01-160-listen\.guide\.mp3"):
        page_of(drill, tmp_path, built[1], one_file=True)


def test_where_there_is_no_track_there_is_no_page(drill, tmp_path):
    with pytest.raises(PageError, match="there is no track to practise with"):
        write_page(tmp_path, Manifest("T", "", ""), drill, [])
    assert not list(tmp_path.iterdir())


def test_the_pages_data_is_json_between_tags_that_hold(out):
    text = (out / "index.html").read_text(encoding="utf-8")
    data = json.loads(re.search(r'id="data">(.*?)</script>', text, re.DOTALL)[1])
    assert data["format"] == "playalong page 2"
    assert data["title"] == 'Third position, <b>slowly</b> & "softly"'
