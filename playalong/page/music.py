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

from playalong.music.meter import TICKS_PER_QUARTER
from playalong.music.temperament import cents
from playalong.page.table import Table
from playalong.performance.perform import LONGEST_SLIDE_SECONDS
from playalong.performance.performance import Performance, PlayedNote, Slide
from playalong.score.model import Score

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
            "passes": performance.stage.passes(performance.score.drill.passes),
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
    rows = []
    for note in score.notes:
        row = [
            ticks(note.start),
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
    exact = quarters * TICKS_PER_QUARTER
    return int(exact) if exact.denominator == 1 else round(float(exact), 4)


def _passes(performance: Performance) -> Iterator[tuple[str, list[tuple[int, list[Any]]]]]:
    notes = [note for note in performance.notes if not note.is_given]
    for _, group in groupby(notes, key=lambda each: (each.note.stand, each.pass_number)):
        letters, rows = "", []
        for number, played in enumerate(group):
            letters += _letter(played)
            if played.slide:
                rows.append((number, _slide_row(performance, played, played.slide)))
        yield letters, rows


def _letter(played: PlayedNote) -> str:
    if played.heard_from is not None:
        return "l"
    return "s" if played.sounds else "-"


def _slide_row(performance: Performance, played: PlayedNote, slide: Slide) -> list[Any]:
    length, ghost = slide.end - slide.start, played.ghost
    longest = length == performance.clock.quarters(LONGEST_SLIDE_SECONDS)
    strength = 0
    if ghost and ghost.sounds:
        strength = 2 if ghost.end > ghost.start else 1
    mm = slide.travel.travel_mm
    return [
        ticks(played.start - slide.end),
        LONGEST if longest else ticks(length),
        slide.travel.kind.value,
        slide.travel.finger,
        round(cents(slide.glide.from_hz, performance.tonic_hz), 2),
        round(cents(slide.glide.to_hz, performance.tonic_hz), 2),
        int(slide.glide.open_hz is not None),
        strength,
        int(slide.sounds),
        None if mm is None else round(mm),
    ]
