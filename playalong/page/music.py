"""Performances -> plain data that the page turns into seconds: in ticks, one for all tempi.

A tick is 1/960 quarter. What depends on the tempo alone is left to the page's clock; equal passes
and slides stand once.

    pass    [which notes sound, [[number of the landing note in the pass, slide], ...]]
            a letter for each note: s it sounds, - it is silent, l it enters at half its length
    slide   [ticks from its end to the landing, length, kind, finger, from cents, to cents,
            whether it runs along a string, ghost (0 none, 1 light, 2 sounded), sounds, mm]
            a length of -1 is the longest that a slide may last
    music   {"passes": of each place, "first": place, "drone": sounds, "at": [pass, ...]}
"""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from itertools import groupby
from typing import Any

from playalong.music.temperament import cents
from playalong.page.table import Table
from playalong.performance.clock import GRID_TICKS
from playalong.performance.perform import LONGEST_SLIDE_SECONDS
from playalong.performance.performance import Event, Performance, Slide
from playalong.score.score import Note, Score

LONGEST = -1


class Music:
    """The tables that all tracks of a page share."""

    def __init__(self) -> None:
        self.slides = Table()
        self.passes = Table()
        self.musics = Table()

    def number(self, performance: Performance, first_place: int = 0) -> int:
        """The number of a performance's music; `first_place` where it takes some places only."""
        at = [
            self.passes.number([letters, [[n, self.slides.number(row)] for n, row in rows]])
            for letters, rows in _passes(performance)
        ]
        music = {
            "passes": performance.score.passes,
            "first": first_place,
            "drone": int(performance.drone is not None),
            "at": at,
        }
        return self.musics.number(music)

    def data(self) -> dict[str, Any]:
        return {
            "slides": self.slides.values,
            "passes": self.passes.values,
            "musics": self.musics.values,
        }


def note_rows(score: Score, tonic_hz: float) -> list[list[Any]]:
    """Every written note of every place: start in its pass, length, cents above the tonic, pitch,
    finger, position, and the string where the drill plays on several."""
    starts = {(place, number): start for place, number, start in score.pass_starts()}
    rows = []
    for note in score.notes:
        if note.pass_number == 1:
            row = [
                ticks(note.start - starts[note.place, 1]),
                ticks(note.length),
                round(cents(note.hz, tonic_hz), 2),
                note.pitch.name,
                note.finger,
                note.position,
            ]
            rows.append(row if score.string else [*row, note.string])
    return rows


def ticks(quarters: Fraction) -> float:
    """Whole where they can be."""
    exact = quarters * GRID_TICKS
    return int(exact) if exact.denominator == 1 else round(float(exact), 4)


def _passes(performance: Performance) -> Iterator[tuple[str, list[tuple[int, list[Any]]]]]:
    events = [e for e in performance.events if e.role == "note" and not e.count_in]
    slides = _slides_by_landing(performance)
    whole = list(zip(performance.score.notes, events, strict=True))
    for _, group in groupby(enumerate(whole), key=lambda each: _pass_of(each[1][0])):
        letters, rows = "", []
        for number, (place, (note, event)) in enumerate(group):
            letters += _letter(event)
            if place in slides:
                rows.append((number, _slide_row(performance, note, *slides[place])))
        yield letters, rows


def _pass_of(note: Note) -> tuple[int, int]:
    return note.place, note.pass_number


def _letter(event: Event) -> str:
    if event.heard_from is not None:
        return "l"
    return "s" if event.sounds else "-"


def _slides_by_landing(performance: Performance) -> dict[int, tuple[Slide, Event | None]]:
    """Slide and ghost note that lead to a note, by its number in the score."""
    ghosts = iter([event for event in performance.events if event.role == "ghost"])
    landings = [n for n, note in enumerate(performance.score.notes) if n and note.arrival]
    return {
        n: (slide, next(ghosts) if slide.travel.ghost else None)
        for n, slide in zip(landings, performance.slides, strict=True)
    }


def _slide_row(
    performance: Performance, note: Note, slide: Slide, ghost: Event | None
) -> list[Any]:
    landing = note.start + performance.music_start
    length = slide.end - slide.start
    longest = length == performance.clock.quarters(LONGEST_SLIDE_SECONDS)
    strength = 0
    if ghost and ghost.sounds:
        strength = 2 if ghost.end > ghost.start else 1
    mm = slide.travel.travel_mm
    return [
        ticks(landing - slide.end),
        LONGEST if longest else ticks(length),
        slide.travel.kind.value,
        slide.travel.finger,
        round(cents(slide.course.from_hz, performance.tonic_hz), 2),
        round(cents(slide.course.to_hz, performance.tonic_hz), 2),
        int(slide.course.open_hz is not None),
        strength,
        int(slide.sounds),
        None if mm is None else round(mm),
    ]
