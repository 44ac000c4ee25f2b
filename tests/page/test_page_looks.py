"""The page fits a phone, light and dark, and everyone can use it."""

from __future__ import annotations

import pytest
from axe_playwright_python.sync_playwright import Axe
from browser import DESK, PHONE, contrast, faint_words

SERIOUS = ("serious", "critical")


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("viewport", [DESK, PHONE], ids=["desk", "phone"])
def test_axe_finds_no_fault_and_what_it_cannot_measure_is_measured(opened, viewport, scheme):
    """It leaves words on drawings open; every word is held against what lies behind it."""
    page = opened(viewport=viewport, color_scheme=scheme)
    page.marks_at([2.1])
    found = Axe().run(page.page).response
    assert [(each["id"], each["impact"]) for each in found["violations"]] == []
    assert {each["id"] for each in found["incomplete"]} <= {"color-contrast"}
    assert faint_words(page.page) == []


@pytest.mark.parametrize("width", [320, 390, 768, 1200])
def test_nothing_reaches_beyond_the_sides(opened, width):
    page = opened(viewport={"width": width, "height": 844})
    wide, room = page.page.evaluate(
        "[document.documentElement.scrollWidth, document.documentElement.clientWidth]"
    )
    assert wide == room == width


def test_what_is_pressed_on_a_phone_is_at_least_44_pixels_high(opened):
    page = opened(viewport=PHONE, has_touch=True)
    low = page.page.evaluate(
        """[...document.querySelectorAll("button, select")].filter((each) => each.offsetParent)
          .filter((each) => each.getBoundingClientRect().height < 44).map((each) => each.id)"""
    )
    assert low == []


def test_two_bars_or_less_stand_on_a_line_of_a_phone_and_four_on_a_desk(opened):
    lines = (
        "[...document.querySelectorAll('.system')].map((s) => s.querySelectorAll('.bar').length)"
    )
    assert max(opened(viewport=PHONE).page.evaluate(lines)) <= 2
    assert opened(viewport=DESK).page.evaluate(lines) == [4]


def test_paper_is_light_by_day_and_dark_by_night(opened):
    colour = "getComputedStyle(document.querySelector('.sheet')).backgroundColor"
    day = opened(color_scheme="light").page.evaluate(colour)
    night = opened(color_scheme="dark").page.evaluate(colour)
    assert (day, night) == ("rgb(251, 246, 234)", "rgb(35, 26, 20)")


def test_the_picture_stands_still_where_motion_is_not_wanted(opened):
    """From one time to another in the same stretch the board right of the string stays."""
    page = opened(reduced_motion="reduce")
    right = """() => {
      const board = document.getElementById("picture"), copy = document.createElement("canvas");
      const x = Math.round(board.width * 0.8);
      Object.assign(copy, { width: board.width - x, height: board.height });
      copy.getContext("2d").drawImage(board, -x, 0);
      return copy.toDataURL();
    }"""
    page.marks_at([2.2])
    first = page.page.evaluate(right)
    page.marks_at([3.1])
    assert page.page.evaluate(right) == first
    moving = opened()
    moving.marks_at([2.2])
    first = moving.page.evaluate(right)
    moving.marks_at([3.1])
    assert moving.page.evaluate(right) != first


def test_stage_guidance_and_cautions_stand_on_the_page(opened):
    text = opened().page.inner_text("main")
    assert "only drone and click; the bar is yours" in text
    assert "This is general information, not medical advice." in text
    assert "Stop on pain, numbness or tingling" in text


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_words_stand_out_four_and_a_half_times_and_marks_three_times(opened, scheme):
    """WCAG 2.2, 1.4.3 and 1.4.11: computed, also where axe cannot see what lies behind."""
    page = opened(color_scheme=scheme)
    names = "wall paper ink soft varnish on-varnish warm looped yours-ink board string sound slide"
    names += " yours chalk"
    colour = page.page.evaluate(
        """(names) => {
          const style = getComputedStyle(document.documentElement);
          return Object.fromEntries(names.map((n) => [n, style.getPropertyValue(`--${n}`).trim()]));
        }""",
        names.split(),
    )
    colour = {name: bytes.fromhex(value[1:]) for name, value in colour.items()}
    for ground in ("wall", "paper", "warm", "looped"):
        for word in ("ink", "soft"):
            assert contrast(colour[word], colour[ground]) >= 4.5, (word, ground)
    assert contrast(colour["chalk"], colour["board"]) >= 4.5
    assert contrast(colour["on-varnish"], colour["varnish"]) >= 4.5
    assert contrast(colour["varnish"], colour["wall"]) >= 4.5  # links
    for mark in ("varnish", "yours-ink"):  # the edge of the sounding bar, the sounding note
        for ground in ("paper", "warm", "looped"):
            assert contrast(colour[mark], colour[ground]) >= 3, (mark, ground)
    for mark in ("string", "sound", "slide", "yours"):
        assert contrast(colour[mark], colour["board"]) >= 3, mark


def test_the_legend_names_a_slide_and_a_ghost_note_only_where_the_picture_shows_them(opened):
    """The ghost note is given in `listen`, and left to the player in `alone`."""
    page = opened()
    row = "[...document.querySelectorAll('.legend li:not([hidden])')].map((li) => li.className)"
    always = ["sounds", "yours", "home", "finger"]
    assert page.page.evaluate(row) == [*always[:2], "slide", "ghost", *always[2:]]
    page.choose(stage="alone")
    assert page.page.evaluate(row) == [*always[:2], "slide", *always[2:]]


@pytest.mark.parametrize("width", [320, 390])
def test_the_clock_takes_two_lines_at_most_on_a_phone(opened, width):
    page = opened(viewport={"width": width, "height": 844})
    lines = """(() => { const clock = document.getElementById("clock");
      return clock.offsetHeight / parseFloat(getComputedStyle(clock).lineHeight); })()"""
    assert page.page.evaluate(lines) < 2.2


@pytest.mark.parametrize("width", [320, 390, 768, 999, 1000, 1920])
def test_no_word_is_smaller_than_11_pixels(opened, width):
    page = opened(viewport={"width": width, "height": 900})
    small = page.page.evaluate(
        """[...document.querySelectorAll("body *")].filter((each) =>
          [...each.childNodes].some((node) => node.nodeType === 3 && node.data.trim()) &&
          !["SCRIPT", "STYLE"].includes(each.tagName) && each.getClientRects().length)
          .map((each) => [each.textContent, parseFloat(getComputedStyle(each).fontSize) *
            (each.closest("svg") ? each.getScreenCTM().a : 1)]).filter(([, px]) => px < 10.99)"""
    )
    assert small == []


def test_again_and_next_are_in_sight_at_the_end_on_every_screen(opened, listed):
    """Wherever the page is scrolled to, and nothing lies over them."""
    page = opened(viewport={"width": 320, "height": 560})
    page.marks_at([listed["tracks"][0]["seconds"] - 0.3])
    page.page.click("#play")
    page.until("document.getElementById('end').hidden === false")
    hidden = """() => ["again", "go-on"].filter((id) => {
      const { left, right, top, bottom } = document.getElementById(id).getBoundingClientRect();
      const corners = [[left + 8, top + 8], [right - 8, top + 8], [left + 8, bottom - 8]];
      return ![...corners, [right - 8, bottom - 8]].every(([x, y]) =>
        document.elementFromPoint(x, y)?.closest("button")?.id === id);
    })"""
    for width, height in [(320, 560), (390, 844), (844, 390), (640, 360), (1200, 800)]:
        page.page.set_viewport_size({"width": width, "height": height})
        for place in ("0", "document.documentElement.scrollHeight"):
            page.page.evaluate(f"scrollTo(0, {place})")
            assert page.page.evaluate(hidden) == [], (width, height, place)
    page.page.set_viewport_size({"width": 320, "height": 560})
    lines = """(() => {
      const range = document.createRange();
      range.selectNodeContents(document.getElementById("again"));
      return range.getClientRects().length;
    })()"""
    assert page.page.evaluate(lines) == 1
    page.page.set_viewport_size({"width": 844, "height": 390})
    tops = (
        """["end", "play"].map((id) => document.getElementById(id).getBoundingClientRect().top)"""
    )
    end, play = page.page.evaluate(tops)
    assert end == pytest.approx(play, abs=8), "a phone on its side has no second row to spare"


@pytest.mark.parametrize(("width", "height"), [(320, 560), (390, 844), (844, 390), (1200, 800)])
def test_the_count_in_is_told_on_a_plate_that_no_finger_and_no_later_note_reaches(
    opened, width, height
):
    """Left of the finger on the string and right of the pitches' names, on a ground of its own."""
    page = opened(viewport={"width": width, "height": height})
    page.page.evaluate(
        """() => {
          const pen = CanvasRenderingContext2D.prototype, { fillText, fillRect, clearRect } = pen;
          pen.clearRect = function (...box) { window.drawn = []; clearRect.apply(this, box); };
          pen.fillRect = function (...box) {
            drawn.push(["plate", ...box]);
            fillRect.apply(this, box);
          };
          pen.fillText = function (text, x, y) {
            const size = parseFloat(this.font.match(/([\\d.]+)px/)[1]);
            drawn.push(["text", text, x, y, this.measureText(text).width, size, this.textAlign]);
            fillText.call(this, text, x, y);
          };
        }"""
    )
    for number, beat in enumerate("1212"):
        page.marks_at([(number + 0.5) * 0.375])
        *before, ground, plate, digit = page.page.evaluate("drawn")
        assert (ground[0], plate[0], digit[:2]) == ("plate", "plate", ["text", beat])
        _, left, top, wide, tall = plate
        assert ground[1] < left
        assert ground[1] + ground[3] > left + wide
        assert ground[2] + ground[4] > top + tall
        assert digit[6] == "center"
        assert left <= digit[2] - digit[4] / 2 <= digit[2] + digit[4] / 2 <= left + wide
        assert digit[5] >= 2 * 13  # twice a finger's number
        assert left + wide < 0.26 * width - 12  # the string, and its finger's half width
        names = [
            each for each in before if each[0] == "text" and each[6] == "left" and each[2] == 8
        ]
        assert names
        assert max(each[2] + each[4] for each in names) < left


def test_a_loop_is_said_to_be_none_where_none_is_set(opened):
    page = opened()
    shown = "document.getElementById('from-bar').selectedOptions[0].textContent"
    assert page.page.evaluate(shown) == "no loop"
    page.choose(**{"from-bar": "2"})
    assert (page.page.evaluate(shown), page.page.input_value("#to-bar")) == ("2", "2")
    assert page.page.locator(".bar.looped").count() == 1
    page.choose(**{"to-bar": ""})
    assert page.page.evaluate(shown) == "no loop"
    assert page.page.locator(".bar.looped").count() == 0
    assert page.page.get_attribute("#loop", "aria-pressed") == "false"
    page.choose(**{"to-bar": "2"})
    assert page.page.input_value("#from-bar") == "1"
    page.page.click("#loop")
    assert page.page.evaluate(shown) == "no loop"


@pytest.mark.parametrize("viewport", [DESK, PHONE], ids=["desk", "phone"])
def test_the_wash_of_a_bar_holds_all_that_stands_in_its_line_and_stays_in_it(opened, viewport):
    """No edge above or below runs through a word or a finger, and none is cut off."""
    strays = opened(viewport=viewport).page.evaluate(
        """[...document.querySelectorAll(".system")].flatMap((system) => {
          const ink = system.querySelector("g").getBBox(), view = system.viewBox.baseVal;
          return [...system.querySelectorAll(".bar")].map((bar) => bar.getBBox()).filter((bar) =>
            bar.y > ink.y - 15 || bar.y + bar.height < ink.y + ink.height + 15 ||
            bar.y < view.y + 15 || bar.y + bar.height > view.y + view.height - 15)
            .map(({ y, height }) => [y, height, ink.y, ink.height]);
        })"""
    )
    assert strays == []
