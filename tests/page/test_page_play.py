"""The page plays, and does what its buttons, keys and touches say."""

from __future__ import annotations

from itertools import pairwise

import pytest
from browser import PHONE


def test_play_moves_the_clock_and_pause_stops_it(opened):
    page = opened()
    assert page.time == 0
    page.page.click("#play")
    page.until("document.getElementById('way').value > 0.3")
    assert page.page.inner_text("#play") == "Pause"
    page.page.click("#play")
    stood = page.time
    page.page.wait_for_timeout(200)
    assert page.time == stood
    assert not page.playing
    assert page.page.inner_text("#play") == "Play"


def test_the_count_in_is_seen_beat_by_beat(opened, listed):
    page = opened()
    beat = 60 / listed["tracks"][0]["bpm"]
    for number in range(4):
        mark = page.marks_at([(number + 0.5) * beat])[0]
        assert f"bar {number // 2 + 1} of 2" in mark["state"]
        assert page.page.inner_text(".beats li.now.lead") == str(number % 2 + 1)


def test_a_touched_note_starts_there_on_a_phone(opened, listed):
    page = opened(viewport=PHONE, has_touch=True, is_mobile=True)
    place = page.page.locator('[data-touch="9"]')
    place.scroll_into_view_if_needed()
    page.page.evaluate(  # the first mark while it plays, however late we ask for it
        """() => {
          const watch = new MutationObserver(() => {
            const heads = [...document.querySelectorAll(".playing .head.now")];
            if (heads.length) {
              document.body.dataset.first = heads.map((head) => head.dataset.note).join(" ");
              watch.disconnect();
            }
          });
          watch.observe(document.documentElement, { attributes: true, subtree: true });
        }"""
    )
    place.tap()
    page.until("document.body.dataset.first")
    assert page.page.evaluate("document.body.dataset.first") == "9"
    page.page.tap("#play")
    assert not page.playing


def test_notes_are_reached_and_started_by_keyboard(opened):
    page = opened()
    page.page.focus('[data-touch="0"]')
    for _ in range(3):
        page.page.keyboard.press("ArrowRight")
    focused = page.page.evaluate("document.activeElement.getAttribute('aria-label')")
    assert focused == "Bar 2, E4, finger 1, position 1"
    page.page.keyboard.press("Enter")
    page.until("document.documentElement.matches('.playing')")
    page.page.keyboard.press(" ")


def test_every_key_on_the_list_does_what_it_says(opened, listed):
    page = opened()
    press, value = page.page.keyboard.press, page.page.input_value
    press(" ")
    page.until("document.getElementById('way').value > 0.1")
    press(" ")
    assert not page.playing
    press("ArrowUp")
    assert page.chosen("tempo") == "168"
    press("ArrowDown")
    assert page.chosen("tempo") == "160"
    press("2")
    assert page.chosen("stage") == "answer"
    press("n")
    assert page.chosen("stage") == "check"
    press("b")
    assert page.chosen("stage") == "answer"
    press("ArrowRight")
    assert page.time == pytest.approx(1.5, abs=0.003)  # past two bars of count-in
    press("ArrowRight")
    assert page.time == pytest.approx(2.25, abs=0.003)
    press("ArrowLeft")
    assert page.time == pytest.approx(1.5, abs=0.003)
    press("l")
    assert page.page.get_attribute("#loop", "aria-pressed") == "true"
    press("+")
    assert (value("#from-bar"), value("#to-bar")) == ("1", "2")
    press("-")
    assert (value("#from-bar"), value("#to-bar")) == ("1", "1")
    press("l")
    assert page.page.get_attribute("#loop", "aria-pressed") == "false"
    press("w")
    page.until("document.getElementById('live').textContent.includes('Bar 1')")
    press("Home")
    assert page.time == 0
    listed_keys = page.page.locator("#key-list dt").count()
    assert listed_keys == 13


def test_letters_rest_where_the_player_turns_them_off_or_fills_a_box(opened):
    page = opened()
    page.page.click("#letters")
    page.page.keyboard.press("n")
    assert page.chosen("stage") == "listen"
    page.page.click("#letters")
    page.page.focus("#key")
    page.page.keyboard.press("l")
    assert page.page.get_attribute("#loop", "aria-pressed") == "false"


def test_a_loop_plays_its_bars_in_every_pass_and_begins_again(opened):
    """Bar 1 of two bars, two passes: from the end of its first pass the sound goes to the second,
    and from there back to the first. Places and jumps at 160: a bar lasts 0.75 s."""
    page = opened()
    page.choose(**{"to-bar": "1", "from-bar": "1"})
    assert page.time == pytest.approx(1.5, abs=0.003)
    page.page.click("#play")
    seen = page.page.evaluate(
        """async () => {
          const seen = [], start = performance.now();
          while (performance.now() - start < 2000) {
            seen.push([performance.now() / 1000, Number(document.getElementById("way").value)]);
            await new Promise(requestAnimationFrame);
          }
          return seen;
        }"""
    )
    page.page.click("#play")
    assert all(1.49 <= t <= 2.3 or 2.99 <= t <= 3.8 for _, t in seen)
    jumps = [pair for pair in pairwise(seen) if abs(pair[1][1] - pair[0][1]) > 0.4]
    ways = [(2.25, 3.0), (3.75, 1.5)]  # from the end of a bar to the start of the next
    for ((then, left), (now, entered)), (end, start) in zip(jumps, ways, strict=False):
        assert (end - left) + (entered - start) == pytest.approx(now - then, abs=0.15)
    assert len(jumps) >= 2


def test_a_loop_may_hold_several_bars_and_is_shown_in_the_score(opened):
    page = opened()
    page.choose(**{"to-bar": "3", "from-bar": "2"})
    assert page.page.locator(".bar.looped").count() == 2
    page.page.click("#loop")
    assert page.page.locator(".bar.looped").count() == 0


def test_key_tempo_stage_and_session_can_be_chosen_and_stepped(opened, listed):
    page = opened()
    page.choose(key="D minor")
    assert page.page.inner_text("#place") == "Viola, D string (II), D minor"
    page.choose(tempo=168)
    assert page.chosen("tempo") == "168"
    page.choose(stage="alone")
    assert page.page.is_disabled("#next")
    page.choose(tempo=160)
    page.page.click("#next")
    assert (page.chosen("tempo"), page.chosen("stage")) == ("168", "listen")
    sound = "document.documentElement.dataset.sound"
    page.until(f"{sound} === 'D-minor/D/05-168-listen.mp3'")
    page.choose(stage="session 1")
    assert page.page.inner_text("#place") == "Viola, D string (II), D minor"
    page.until(f"{sound} === 'D-minor/D/session.mp3'")
    assert page.page.is_disabled("#tempo button")


def test_the_next_track_goes_on_playing_where_one_played(opened):
    page = opened()
    page.page.click("#play")
    page.until("document.getElementById('way').value > 0.1")
    page.page.click("#next")
    page.until("document.documentElement.matches('.playing')")
    assert page.chosen("stage") == "answer"


def test_it_remembers_where_the_player_stopped(opened):
    page = opened()
    page.choose(key="D minor", tempo="168", stage="answer")
    page.choose(**{"from-bar": "2"})
    page.marks_at([4.0])
    page.page.fill("#drone-level", "0.4")
    page.page.goto("about:blank")
    page.open()
    assert page.page.input_value("#key") == "D minor"
    assert page.chosen("tempo") == "168"
    assert page.chosen("stage") == "answer"
    assert page.page.input_value("#from-bar") == "2"
    assert page.page.input_value("#drone-level") == "0.4"
    assert page.time == pytest.approx(4.0, abs=0.01)


def test_it_plays_where_the_browser_keeps_nothing(opened, browser):
    page = opened()
    page.page.add_init_script(
        "Object.defineProperty(window, 'localStorage', { get() { throw new Error('no'); } })"
    )
    page.open()
    page.page.click("#play")
    page.until("document.getElementById('way').value > 0.1")


def test_a_missing_track_is_told_in_words(browser, out, tmp_path):
    from browser import Opened

    page = tmp_path / "index.html"
    page.write_bytes((out / "index.html").read_bytes())
    alone = Opened(browser, page)
    alone.page.click("#play")
    alone.until("document.querySelector('.state.failed') !== null")
    assert alone.state == (
        "The sound F-major/D/01-160-listen.mp3 is not beside this page. Unpack the whole folder, "
        "then open index.html in it."
    )
    alone.close()


def test_a_screen_reader_is_told_choices_and_stops_and_no_more(opened):
    page = opened()
    said = "document.getElementById('live').textContent"
    page.choose(stage="check")
    page.until(f"{said} === 'check, tempo 160, Viola, D string (II), F major'")
    page.page.click("#play")
    page.page.wait_for_timeout(400)
    assert page.page.evaluate(said).startswith("check, tempo 160")
    page.page.click("#play")
    page.until(f"{said}.startsWith('Stopped. Count-in, bar ')")
    assert page.page.evaluate(said) == f"Stopped. {page.state}"


SIZES = [(320, 560), (390, 844), (640, 360), (768, 1024), (844, 390), (1280, 640), (1920, 1080)]


@pytest.mark.parametrize(("width", "height"), SIZES)
def test_picture_and_sounding_bar_are_in_sight_while_it_plays_at_every_size(opened, width, height):
    """From a small phone to a desk, on its side, and a laptop at twice its size (640 by 360)."""
    page = opened(viewport={"width": width, "height": height})
    page.page.evaluate("scrollTo(0, document.documentElement.scrollHeight)")
    page.marks_at([4.4])
    page.page.click("#play")
    page.until("document.querySelector('.bar.now')")
    page.until(  # once the line has been scrolled to
        """(() => {
          const box = (what) => document.querySelector(what).getBoundingClientRect();
          const bar = box(".bar.now");
          return box("#picture").top >= 0 && box("#state").bottom < bar.top &&
            bar.bottom < box("#transport").top && box("#transport").bottom <= innerHeight;
        })()"""
    )
    head = page.page.locator("header").bounding_box()
    assert head["height"] < 45
    page.page.click("#play")


def test_a_track_played_to_its_end_is_marked_and_offers_again_and_next(opened, listed):
    page = opened()
    end = listed["tracks"][0]["seconds"]
    page.page.click("#play")
    page.until("document.getElementById('end').hidden === false", seconds=end + 5)
    assert page.page.inner_text("#go-on") == "Next: answer, tempo 160"
    assert page.page.locator("#stage .done").all_inner_texts() == ["listen\n, played"]
    assert page.page.locator("#tempo .done").count() == 0
    assert "1 of 4 stages played" in page.page.locator("#tempo button").first.inner_text()
    page.page.click("#again")
    page.until("document.documentElement.matches('.playing')")
    assert page.chosen("stage") == "listen"
    assert page.page.is_hidden("#end")
    page.marks_at([end - 0.5])
    page.until("document.getElementById('end').hidden === false")
    page.page.click("#go-on")
    page.until("document.documentElement.matches('.playing')")
    assert page.chosen("stage") == "answer"
    page.page.click("#play")
    page.open()
    assert page.page.locator("#stage .done").count() == 1


def test_a_track_that_was_only_ended_is_not_marked_as_played(opened, listed):
    page = opened()
    page.marks_at([listed["tracks"][0]["seconds"] - 0.5])
    page.page.click("#play")
    page.until("document.getElementById('end').hidden === false")
    assert page.page.locator("#stage .done").count() == 0


def test_bars_are_looped_by_dragging_over_them(opened):
    page = opened()
    boxes = [page.page.locator(f'.bar[data-bar="{bar}"]').bounding_box() for bar in (2, 3)]
    middle = [(box["x"] + box["width"] / 2, box["y"] + box["height"] / 2) for box in boxes]
    page.page.mouse.move(*middle[1])
    page.page.mouse.down()
    page.page.mouse.move(*middle[0], steps=5)
    assert page.page.locator(".bar.looped").count() == 2
    page.page.mouse.up()
    values = [page.page.input_value(f"#{name}-bar") for name in ("from", "to")]
    assert values == ["2", "3"]
    assert not page.playing


def test_space_plays_wherever_the_focus_is_and_presses_nothing_else(opened):
    page = opened()
    for place in (
        "#key",
        "#way",
        "#loop",
        "#letters",
        "#guide-level",
        '[data-touch="3"]',
        "a[href]",
    ):
        page.page.focus(place)
        page.page.keyboard.press(" ")
        page.until("document.documentElement.matches('.playing')")
        page.page.keyboard.press(" ")
        assert not page.playing
    assert page.page.get_attribute("#loop", "aria-pressed") == "false"
    assert page.page.get_attribute("#letters", "aria-pressed") == "true"
    assert page.page.input_value("#key") == "F major"


def test_arrows_go_from_bar_to_bar_after_a_note_was_touched_or_a_key_chosen(opened):
    page = opened()
    page.page.click('[data-touch="0"]')
    page.page.keyboard.press(" ")
    page.page.keyboard.press("Home")
    page.page.keyboard.press("ArrowRight")
    assert page.time == pytest.approx(1.5, abs=0.003)
    page.page.focus("#way")
    page.page.keyboard.press("ArrowRight")
    assert page.time == pytest.approx(2.25, abs=0.003)


def test_the_screen_stays_awake_while_it_plays_and_the_lock_screen_knows_what(opened):
    page = opened()
    page.page.add_init_script(
        """Object.defineProperty(navigator, "wakeLock", { value: { async request(what) {
          window.held = what;
          const lock = new EventTarget();
          lock.release = () => { window.held = null; };
          return lock;
        } } })"""
    )
    page.open()
    page.page.click("#play")
    page.until("window.held === 'screen'")
    media = "navigator.mediaSession.metadata.title + navigator.mediaSession.playbackState"
    page.until(f"{media} === 'listen, tempo 160, Viola, D string (II), F majorplaying'")
    page.page.click("#play")
    page.until("window.held === null")
