"""The text that lies beside the tracks: what the files are, how to practise, the cautions."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Iterator, Sequence

from playalong.drill.model import Drill
from playalong.folder.names import MIDI, PAGE_FILE, PDF, track_name
from playalong.guidance import cautions, practice
from playalong.instrument.shift import Travel
from playalong.performance.ladder import rungs
from playalong.score.explanation import stage_words
from playalong.score.model import Score

COUNT_WORDS = {1: "One bar leads", 2: "Two bars lead", 3: "Three bars lead", 4: "Four bars lead"}


def read_me_first(drill: Drill, scores: Sequence[Score]) -> str:
    """The text that lies beside the tracks and in every mail: ASCII, but for the title and the
    names of stages. `scores` are the drill's keys and strings."""
    stages = "\n".join(
        _wrapped(f"{stage.name:<8} {stage_words(stage, scores)}", "  ", 11)
        for stage in drill.stages
    )
    return f"""{drill.title}

What is here
{_listed(_what_is_here(drill))}

The stages
{stages}

How to practise
{_listed(_how_to_practise(drill, scores))}

Please read
{_listed(cautions(drill.instrument.manner))}
"""


def _what_is_here(drill: Drill) -> Iterator[str]:
    first, start = drill.stages[0].name, drill.tempo.start
    name = track_name(1, len(drill.stages) * len(rungs(drill.tempo)), start, first)
    strings = ", and in it one for each string" if drill.strings else ""
    string = " and string stand" if drill.strings else " stands"
    yield (
        f"One folder for each key{strings}. Tracks are numbered in the order of practice: {name} "
        f"is the first, at {start} beats a minute. In a mail, the key{string} before the number."
    )
    yield (
        "A session, where there is one, plays tracks in a row, so that you need not touch the "
        f"computer; rest between them {drill.instrument.manner.at_rest}."
    )
    yield (
        f"A sheet ({PDF}), where there is one, is the drill to read; {PAGE_FILE} is a page to "
        "practise from, and opens in a browser."
    )
    yield (
        f"The {MIDI} files hold the same music for any synthesizer or sequencer. They say what "
        "sounds, bends and all, on two channels in turn; for a notation program take the MusicXML."
    )


def _how_to_practise(drill: Drill, scores: Sequence[Score]) -> Iterator[str]:
    first, _, follow, last = practice(drill.instrument.manner)
    yield first
    bars = COUNT_WORDS[drill.click.count_in]
    if drill.drone.on == "off":
        yield f"{bars} in: the click alone, then your first note."
    else:
        yield (
            f"{bars} in: the click alone, then the drone and your first note. Let the drone tell "
            "you where home is."
        )
    slides = list(_slides(drill, scores))
    if slides:
        ghost = any(travel.slides_onto_ghost for travel in slides)
        light = "; a light note before the target shows where the old finger arrives"
        yield follow.rstrip(".") + (light if ghost else "") + "."
    yield last


def _slides(drill: Drill, scores: Sequence[Score]) -> Iterator[Travel]:
    """Every travel that is heard."""
    for score in scores:
        for note in score.reached(drill.passes):
            if note.arrival and note.heard:
                yield note.arrival


def _listed(paragraphs: Iterable[str]) -> str:
    return "\n".join(_wrapped(paragraph, "  - ", 4) for paragraph in paragraphs)


def _wrapped(text: str, start: str, indent: int) -> str:
    return textwrap.fill(text, 92, initial_indent=start, subsequent_indent=" " * indent)
