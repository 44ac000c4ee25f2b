"""The page as it is to those who listen to it: the tree that a browser gives to a screen reader."""

from __future__ import annotations

from typing import Any

import pytest
from browser import Opened

CONTROLS = {"button", "combobox", "slider", "link", "checkbox", "spinbutton", "meter"}


def tree(page: Opened) -> list[dict[str, Any]]:
    """Role, name and value of every node that is not passed over, in reading order."""
    session = page.context.new_cdp_session(page.page)
    nodes = session.send("Accessibility.getFullAXTree")["nodes"]
    known = {each["nodeId"]: each for each in nodes}
    found: list[dict[str, Any]] = []
    waiting = [nodes[0]]
    while waiting:
        node = waiting.pop()
        waiting += [known[n] for n in reversed(node.get("childIds", [])) if n in known]
        if not node["ignored"]:
            told = {name: node.get(name, {}).get("value", "") for name in ("role", "name", "value")}
            told |= {
                each["name"]: each["value"].get("value") for each in node.get("properties", [])
            }
            found.append(told)
    return found


@pytest.fixture
def page(opened):
    return opened()


def test_every_control_has_a_name_and_those_that_are_pressed_say_so(page):
    controls = [each for each in tree(page) if each["role"] in CONTROLS]
    assert len(controls) > 30
    assert [each for each in controls if not each["name"].strip()] == []
    pressed = [each["name"] for each in controls if each.get("pressed") == "true"]
    assert pressed == ["listen", "160", "Letters, digits and signs are keys"]


def test_what_to_play_comes_first_then_play_then_the_drill_and_the_words_last(page):
    told = [each["name"] for each in tree(page)]
    order = ["What to play", "Key", "Stage", "Tempo", "Play", "Place in the track", "The drill"]
    order += [
        "Bars to loop",
        "Balance",
        "Record yourself",
        "How to practise",
        "Please read",
        "Keys",
    ]
    places = [told.index(name) for name in order]
    assert places == sorted(places)


def test_headings_lead_through_the_page(page):
    headings = [each for each in tree(page) if each["role"] == "heading"]
    levels = [each["level"] for each in headings]
    assert (levels[0], set(levels[1:])) == (1, {2})
    assert [each["name"] for each in headings[1:3]] == ["The drill", "Record yourself"]


def test_every_note_is_a_button_that_tells_finger_string_and_shift(page):
    notes = [each["name"] for each in tree(page) if each["name"].startswith("Bar 2, ")]
    assert notes[:3] == [
        "Bar 2, E4, finger 1, position 1",
        "Bar 2, F4, finger 2, position 1",
        "Bar 2, G4, finger 3, position 1",
    ]
    assert notes[3].startswith("Bar 2, G4, finger 1, position 3, shift, substitution, ")
    assert notes[3].endswith(" mm")
    first = next(each["name"] for each in tree(page) if each["name"].startswith("Bar 1, "))
    assert first == "Bar 1, E4, finger 1, position 1, D string"


def test_places_and_loudness_are_told_in_words(page):
    page.marks_at([2.0])
    page.page.fill("#drone-level", "0.5")
    values = {each["name"]: each["value"] for each in tree(page) if each["role"] == "slider"}
    told = page.page.evaluate(
        "[...document.querySelectorAll('input[type=range]')].map((e) => e.ariaValueText)"
    )
    assert set(values) >= {"Place in the track", "drone", "click"}
    assert told[0].startswith("0:02 of")
    assert told[1:] == ["100 %", "50 %", "100 %"]


def test_what_was_done_is_said_once_in_the_live_region(page):
    page.page.keyboard.press("l")
    page.until("document.getElementById('live').textContent === 'Loop: bar 1'")
    assert [each["live"] for each in tree(page) if each.get("live") == "polite"]


def test_the_tab_key_reaches_all_that_can_be_pressed_and_play_follows_the_choice(page):
    """Notes are one stop, since arrows go on from it."""
    reached = []
    here = "document.activeElement.id || document.activeElement.value || 'note'"
    for _ in range(60):
        page.page.keyboard.press("Tab")
        if page.page.evaluate("document.activeElement === document.body"):
            break
        reached.append(page.page.evaluate(here))
    assert reached[:2] == ["key", "listen"]
    assert reached.index("168") < reached.index("play") < reached.index("way")
    assert reached.index("way") < reached.index("note") < reached.index("from-bar")
    assert len(reached) == len(set(reached))
    every = page.page.evaluate(
        """[...document.querySelectorAll("button, select, input, a[href]")]
          .filter((e) => e.getClientRects().length && !e.disabled).map((e) => e.id || e.value)"""
    )
    assert set(every) <= set(reached)
