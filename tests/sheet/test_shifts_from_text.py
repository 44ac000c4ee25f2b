"""Shifts that are true of the hand, from the drill's text to timeline, explanation and sheet.

Millimetres are x = 328 mm (1 - 2^(-n/12)) for n semitones above the open string; the hand's are
those of the first finger, whose place is counted by hand beside each row.
"""

from __future__ import annotations

from dataclasses import dataclass

import pytest
from explained import drill_text, printed, told
from playing import drill_of, play_drill

from playalong.drill.stage import STAGES
from playalong.engraving.annotations import annotated
from playalong.engraving.engrave import engrave
from playalong.engraving.marks import Words
from playalong.engraving.written_score import write_down
from playalong.performance.timing import timeline_of
from playalong.score.writing import write

ROOM_MM = 180.0
OLD, NEW = ('slide.lead = "{} finger"'.format(lead) for lead in ("old", "new"))  # noqa: UP032


def apart_mm(low: int, high: int) -> float:
    """Between two numbers of semitones above the open string."""
    return 328 * abs(2 ** (-low / 12) - 2 ** (-high / 12))


@dataclass(frozen=True)
class Told:
    """The last shift of a bar of the violin as everything tells it."""

    kind: str
    hand: tuple[int, int]  # first finger, in semitones above its open string
    ghost: str | None = None
    sounds: bool = True


D_CONTRARY = "p3: 1*4 p1: 4*4"
B_MAJOR = "p0: 1*2 2*2 3*2 4*2 | p1: 1*2 2*2 3*2 4*2"
EXAMPLES = [
    # bar, key, string, lead, what is told
    (D_CONTRARY, "C major", "D", "", Told("contrary", (5, 2), sounds=False)),  # G4 to E4
    (D_CONTRARY, "C major", "D", OLD, Told("old finger leads", (5, 2), "E4")),
    (D_CONTRARY, "C major", "D", NEW, Told("new finger leads", (5, 2), "C5")),
    ("p1: 4*4 p3: 1*4", "C major", "D", "", Told("contrary", (2, 5), sounds=False)),
    (B_MAJOR, "B major", "D", "", Told("contrary", (1, 2), sounds=False)),  # D#4 to E4
    (B_MAJOR, "B major", "A", "", Told("contrary", (1, 2), sounds=False)),  # A#4 to B4
    ("p1: 4*4 p5: 1*4", "C major", "D", "", Told("exchange", (2, 9), "E5")),  # E4 to B4
    ("p5: 1*4 p1: 4*4", "C major", "D", "", Told("exchange", (9, 2), "E4")),
    ("p1: 3*2 4x*2 p2: 3*2 4*2", "C major", "A", "", Told("hand follows", (2, 3), sounds=False)),
    ("p1: 2*4 p3: 2*4", "C major", "D", "", Told("same finger", (2, 5))),
    ("D: 1*4 A: p3: 2*4", "C major", None, "", Told("across strings", (2, 5), "G4")),
    ("D: 1*4 A: p3: 2*4", "C major", None, NEW, Told("across strings", (2, 5), "C5")),
    ("A: p3: 2*4 D: p1: 1*4", "C major", None, NEW, Told("across strings", (5, 2), "G4")),
]


def settings(key: str, string: str | None, lead: str) -> str:
    strings = f'strings = ["{string}"]' if string else ""
    return "\n".join((f'keys = ["{key}"]', "passes = 1", strings, lead))


@pytest.mark.parametrize(("bar", "key", "string", "lead", "wanted"), EXAMPLES)
def test_a_shift_is_told_alike_by_timeline_explanation_and_sheet(
    bar: str, key: str, string: str | None, lead: str, wanted: Told
) -> None:
    hand_mm = apart_mm(*wanted.hand)
    more = settings(key, string, lead)
    score = write(drill_of(bar, more))

    landing = next(
        note
        for note in reversed(timeline_of(play_drill(score.drill)).notes)
        if note.slide and note.pass_number
    )
    slide = landing.slide
    assert (slide.kind, slide.sounds) == (wanted.kind, wanted.sounds)
    assert slide.hand_travel_mm == pytest.approx(hand_mm, abs=0.0501)
    assert bool(slide.curve) == wanted.sounds
    assert (landing.ghost and landing.ghost.pitch) == wanted.ghost

    *_, shift = [s for b in told(drill_text(bar, more))[0]["bars"] for s in b["shifts"]]
    assert (shift["kind"], shift["heard"], shift["ghost"]) == (
        wanted.kind,
        wanted.sounds,
        wanted.ghost,
    )
    assert shift["hand_travel_mm"] == pytest.approx(hand_mm, abs=0.0501)
    assert f", the hand travels {hand_mm:.0f} mm" in printed(drill_text(bar, more))

    assert under_the_staff(bar, more)[-2:] == [wanted.kind, f"{hand_mm:.0f} mm"]


def under_the_staff(bar: str, more: str) -> list[str]:
    """The words of the shifts, kind and length in turn."""
    written = write_down(write(drill_of(bar, more)))
    marks = [
        mark
        for system in engrave(written, ROOM_MM)
        for mark in annotated(written, system, ROOM_MM)
        if isinstance(mark, Words) and mark.kind == "shift"
    ]
    return [mark.text for mark in marks]


@pytest.mark.parametrize("stage", STAGES)
@pytest.mark.parametrize("bar", ["p3: 1*4 p1: 4*4", "p1: 3*2 4x*2 p2: 3*2 4*2"])
def test_what_no_finger_slides_is_silent_in_every_stage(bar: str, stage: str) -> None:
    timeline = timeline_of(play_drill(drill_of(bar, 'strings = ["A"]'), stage=stage))
    silent = [s for s in timeline.slides if s.kind in ("contrary", "hand follows")]
    assert silent
    assert not any(slide.sounds or slide.curve for slide in silent)


def test_the_ghost_that_nobody_aims_for_stands_on_no_sheet() -> None:
    """An exchange tells its ghost note, and neither sounds nor prints it."""
    score = write(drill_of("p1: 2*4 p3: 1*4", "passes = 1"))
    assert score.notes[1].arrival.ghost.name == "A4"
    written = write_down(score)
    assert not any(bar.ghosts for bar in written.bars)
    assert "ghost" not in " ".join(under_the_staff("p1: 2*4 p3: 1*4", "passes = 1"))


@pytest.mark.parametrize(("bar", "words"), [("2*4 2#*4", []), ("2*4 ~2#*4", ["15 mm"])])
def test_a_half_step_slide_is_drawn_only_where_it_is_heard(bar: str, words: list[str]) -> None:
    """F4 to F#4 is 15.48 mm, which rounds once to 15, by way of 15.5 to 16."""
    assert apart_mm(3, 4) == pytest.approx(15.48, abs=0.005)
    assert under_the_staff(bar, "passes = 1")[1:] == words
    assert bool(write_down(write(drill_of(bar))).slides) == bool(words)
    assert "finger 2 travels 15 mm" in printed(drill_text(bar))


@pytest.mark.parametrize("bar", ["p1: E4=1 F4=2 F#4=3 G4=4", "E4=1 F4=2 F#4=3 G4=4"])
def test_a_finger_for_each_half_step_is_one_hand_everywhere(bar: str) -> None:
    more = 'note = "quarter"'
    timeline = timeline_of(play_drill(drill_of(bar, more)))
    assert {note.position for note in timeline.notes} == {1}
    assert timeline.slides == ()
    assert under_the_staff(bar, more) == []
    assert "shift" not in printed(drill_text(bar, more))


def test_a_slide_that_is_written_into_a_contrary_shift_is_the_landing_fingers() -> None:
    (shift,) = told(drill_text("p3: 1*4 p1: ~4*4", "passes = 1"))[0]["bars"][0]["shifts"]
    assert (shift["kind"], shift["finger"], shift["direction"]) == ("new finger leads", 4, "down")
    assert (shift["from_place"], shift["to_place"], shift["heard"]) == ("C5", "A4", True)
