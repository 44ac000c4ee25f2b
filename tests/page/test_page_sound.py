"""What the page sends to the loudspeaker is the track's own sound, and a loop has no seam."""

from __future__ import annotations

import shutil

import numpy as np
import pytest
import soundfile
from heard import LISTEN, asked_late, hear, heard, place_of, starts

from playalong.page.html import ASSETS

RATE_HZ, BLOCK_FRAMES = 44_100, 64
FADE_FRAMES = round(0.008 * RATE_HZ)  # at the end of each stretch, over which the drone is led
NEAR = 2e-3  # of full scale: two decoders of MP3 differ by less


TRIES = 5
LOOP_FOR_A_TURN = """async () => {
  const place = () => Number(document.getElementById("way").value);
  const press = async (name, t) => {
    while (place() < t) await new Promise((done) => setTimeout(done, 10));
    document.getElementById(name).click();
  };
  await press("loop", 1.65);
  await press("loop", 3.1);
  await press("play", 4.3);
}"""


@pytest.fixture
def listened(opened):
    """A page whose sound is kept."""

    def open_page(file=None, **context):
        page = opened(file, bypass_csp=True, **context)
        page.page.add_init_script(LISTEN)
        page.open()
        return page

    return open_page


def frame(seconds):
    """Where something that the tempo puts at a time begins: events stand on whole blocks."""
    return round(seconds * RATE_HZ / BLOCK_FRAMES) * BLOCK_FRAMES


def track(out, name, *stems):
    """A track as the sum of its stems, decoded by libsndfile."""
    return sum(
        soundfile.read(out / "F-major/D" / f"{name}.{stem}.mp3", dtype="float32")[0]
        for stem in stems or ("guide", "drone", "click")
    )


def play_for(page, seconds):
    """Whether what was played was also in time."""
    page.page.click("#play")
    hear(page.page, seconds)
    page.page.click("#play")
    return True


def undisturbed(listened, act):
    """What is heard of a page on which `act` was done, and which the machine gave its time."""
    for _ in range(TRIES):
        page = listened()
        if act(page) and not asked_late(page.page):
            return heard(page.page)
        page.close()
    pytest.skip("the machine is too busy to hear its sound in time")


def test_a_track_is_heard_as_the_files_hold_it_all_stems_on_one_frame(listened, out):
    def act(page):
        page.marks_at([2.0])
        return play_for(page, 1.5)

    sound, whole = undisturbed(listened, act), track(out, "01-160-listen")
    piece = whole[frame(2.05) : frame(3.0)]
    at = place_of(piece, sound)
    assert np.abs(sound[at : at + len(piece)] - piece).max() < NEAR


def test_a_loop_repeats_to_the_frame_and_holds_its_bars_of_every_pass(listened, out):
    """Bar 1 of both passes, for ever; at 160 a bar of two beats lasts 0.75 s."""

    def act(page):
        page.choose(**{"to-bar": "1", "from-bar": "1"})
        return play_for(page, 4.0)

    sound, whole = undisturbed(listened, act), track(out, "01-160-listen")
    bars = [slice(frame(1.5), frame(2.25)), slice(frame(3.0), frame(3.75))]
    inner = whole[frame(1.5) + 2000 : frame(2.25) - 2000]
    first = place_of(inner, sound[: 2 * RATE_HZ]) - 2000
    at = first
    for bar in (*bars, *bars):
        held = slice(100 if at == first else 0, bar.stop - bar.start - FADE_FRAMES)
        assert np.abs(sound[at:][held] - whole[bar][held]).max() < NEAR
        at += bar.stop - bar.start
    length = (at - first) // 2
    turn = sound[first + 100 : first + length]
    assert np.array_equal(turn, sound[first + 100 + length :][: len(turn)])


def test_no_join_of_a_loop_clicks_or_falls_silent(listened, out):
    """Drone alone: no step from frame to frame is larger at a join than the drone's own, and it
    never falls by more than half for 10 ms."""

    def act(page):
        page.choose(**{"to-bar": "1", "from-bar": "1"})
        for name in ("guide", "click"):
            page.page.fill(f"#{name}-level", "0")
        return play_for(page, 3.2)

    sound = undisturbed(listened, act)
    drone = track(out, "01-160-listen", "drone")[frame(1.5) :][: 2 * RATE_HZ]
    sound = sound[np.flatnonzero(np.abs(sound) > 0.01)[0] + 2000 :][: 2 * RATE_HZ]
    assert np.abs(np.diff(sound)).max() < 1.1 * np.abs(np.diff(drone)).max()
    loudest = [np.abs(part).max() for part in np.split(sound, range(441, len(sound), 441))]
    assert min(loudest[:-1]) > 0.5 * min(
        np.abs(part).max() for part in np.split(drone, range(441, len(drone), 441))[:-1]
    )


def test_a_loop_that_is_set_and_left_while_it_plays_leaves_no_gap(listened, out):
    """Set in bar 1 of the first pass, left in bar 1 of the second: heard are the first pass's bar
    1, then the second pass from its start to its end."""

    def act(page):
        page.marks_at([1.6])
        page.page.click("#play")
        page.page.evaluate(LOOP_FOR_A_TURN)
        first, begun, left = starts(page.page)
        turn = frame(2.25) - frame(1.6)  # to the end of bar 1 of the first pass; then of the second
        return begun - first < turn < left - first < turn + frame(0.75)

    sound, whole = undisturbed(listened, act), track(out, "01-160-listen")
    second = whole[frame(3.0) : frame(4.2)]
    at = place_of(second, sound)
    assert np.abs(sound[at : at + len(second)] - second).max() < NEAR
    first = whole[frame(1.65) : frame(2.25) - FADE_FRAMES]
    assert np.abs(sound[at - frame(2.25) + frame(1.65) :][: len(first)] - first).max() < NEAR


def test_guide_drone_and_click_are_balanced_while_they_play(listened, out):
    def act(page):
        page.marks_at([1.6])
        page.page.click("#play")
        page.until("Number(document.getElementById('way').value) > 1.9")
        page.page.fill("#guide-level", "0")
        page.page.fill("#click-level", "0.5")
        in_time = page.time < 2.8
        hear(page.page, 2.0)
        page.page.click("#play")
        return in_time

    sound, whole = undisturbed(listened, act), track(out, "01-160-listen")
    before = whole[frame(1.62) : frame(1.85)]
    start = place_of(before, sound[:RATE_HZ]) - frame(1.62)
    drone = track(out, "01-160-listen", "drone")
    click = track(out, "01-160-listen", "click")
    after = slice(frame(2.9), frame(3.3))
    expected = (drone + 0.25 * click)[after]
    assert np.abs(sound[start + after.start : start + after.stop] - expected).max() < NEAR


def test_where_the_pages_sound_is_missing_it_plays_the_tracks_themselves(browser, out, tmp_path):
    """As in a zip that had no room for it: loops go on, and there is nothing to balance."""
    from browser import Opened

    shutil.copy(out / "index.html", tmp_path)
    shutil.copytree(out / "F-major", tmp_path / "F-major")
    page = Opened(browser, tmp_path / "index.html")
    assert page.page.is_hidden("#balance")
    page.choose(**{"to-bar": "1", "from-bar": "1"})
    page.page.click("#play")
    seen = []
    for _ in range(60):
        seen.append(page.time)
        page.page.wait_for_timeout(30)
    page.page.click("#play")
    assert all(1.49 <= t <= 2.35 or 2.99 <= t <= 3.85 for t in seen)
    assert max(seen) > 3.0
    page.close()


# What a context tells `now` ms after its start, as the browser named was seen to tell: its clock
# steps by `piece` seconds as a piece is handed on, and that piece is heard `way` seconds later.
TELLINGS = {
    "Chromium": "({ contextTime: step - piece - way, performanceTime: handed })",
    "Firefox": "({ contextTime: step - way, performanceTime: now })",
    "WebKitGTK": "({ contextTime: step - 0.003, performanceTime: now + 1000 * step })",
}


@pytest.mark.parametrize("frame_ms", [16.7, 47])
@pytest.mark.parametrize(
    ("telling", "piece", "way"),
    [("Chromium", 0.052, 0.16), ("Firefox", 0.02, 0.037), ("WebKitGTK", 0.04, 0.0)],
)
def test_the_time_shown_is_the_time_heard_within_30_ms(browser, telling, piece, way, frame_ms):
    page = browser.new_page()
    source = (ASSETS / "ear.js").read_text(encoding="utf-8")
    late = page.evaluate(
        f"""([source, piece, way, frame]) => {{
          let now = 0;
          const Ear = new Function("performance", source + "; return Ear")({{ now: () => now }});
          const ear = new Ear(0.05), late = [];
          for (now = 500; now < 8000; now += frame) {{
            const begun = piece * Math.floor(now / 1000 / piece), step = begun + piece;
            const handed = 1000 * begun;
            const told = {TELLINGS[telling]};
            const context = {{ currentTime: step, getOutputTimestamp: () => told }};
            late.push(now / 1000 - way - ear.heard(context));
          }}
          return late.slice(Math.ceil(500 / frame));
        }}""",
        [source, piece, way, frame_ms],
    )
    page.close()
    assert np.abs(late).max() < 0.030
    assert np.ptp(late) < 0.020  # and runs evenly
