"""Pages of tracks that were never made, and a reader of what any page holds."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from itertools import accumulate
from pathlib import Path
from typing import Any

from playing import BANK

from playalong.drill.model import Drill
from playalong.folder.manifest import Manifest, TrackEntry
from playalong.making.plan import Options, RungPlan, plan_build
from playalong.page.content import PracticeSet
from playalong.page.html import write_page
from playalong.page.tables import LETTERS
from playalong.performance.perform import perform
from playalong.performance.timeline import Timeline
from playalong.performance.timing import timeline_of


def manifest_of(drill: Drill, audio: str = "{}.mp3") -> Manifest:
    """Every track of a drill; `audio` names its sound from its place in the list, from 1."""
    entries: list[TrackEntry] = []
    for rung in rungs_of(drill):
        for track in rung.tracks:
            name, stage = audio.format(len(entries) + 1), track.stage.name
            entries.append(
                TrackEntry(
                    track.number, rung.key.name, rung.string, rung.bpm, stage, track.seconds,
                    name, "", "", {}, {},
                )
            )  # fmt: skip
    return Manifest(drill.title, drill.file, drill.sha256, tuple(entries))


def rungs_of(drill: Drill) -> tuple[RungPlan, ...]:
    return plan_build(drill, Options(bank=BANK)).rungs


def timelines_of(rungs: tuple[RungPlan, ...]) -> Iterator[Timeline]:
    for rung in rungs:
        for track in rung.tracks:
            yield timeline_of(perform(rung.score, rung.bpm, track.stage))


def sets_of(drill: Drill, manifest: Manifest) -> list[PracticeSet]:
    """The keys and strings of a drill, with the entries of a manifest that lists all its tracks."""
    sets = []
    rungs = rungs_of(drill)
    for score in dict.fromkeys(id(rung.score) for rung in rungs):
        own = tuple(rung for rung in rungs if id(rung.score) == score)
        here = (own[0].key.name, own[0].string)
        entries = [each for each in manifest.tracks if (each.key, each.string) == here]
        sets.append(PracticeSet(own[0].score, zip(entries, timelines_of(own), strict=True)))
    return sets


def page_of(drill: Drill, out: Path, manifest: Manifest | None = None, **how: bool) -> Path:
    """The page of a drill, written into a folder."""
    listed = manifest or manifest_of(drill)
    return out / write_page(out, listed, drill, sets_of(drill, listed), **how)


def data_in(page: Path) -> dict[str, Any]:
    """What a page holds, read from its file as the browser reads it."""
    text = page.read_text(encoding="utf-8")
    found = re.search(r'id="data">(.*?)</script>', text, re.DOTALL)
    assert found
    return dict(json.loads(found[1]))


def unpacked(column: list[Any]) -> list[Any]:
    values, *text = column
    return [values[LETTERS.index(letter)] for letter in text[0]] if text else values


def seconds(block: int) -> float:
    return block * 64 / 44_100


class Reader:
    """One music of a page's data, by what playalong.page.packing says of its columns."""

    def __init__(self, data: dict[str, Any], number: int) -> None:
        grid, guide, travels = data["musics"][number]

        def columns(numbers: list[int]) -> list[list[Any]]:
            return [unpacked(data["columns"][each]) for each in numbers]

        grid_columns = columns(data["grids"][grid])
        beats, counts, self.bars, self.passes, numbers, starts = grid_columns[:6]
        self.lengths, self.upbeats, given_note = grid_columns[6:]
        self.beats, self.numbers, self.starts = map(
            list, (accumulate(beats), accumulate(numbers), accumulate(starts))
        )
        self.firsts = [0, *accumulate(counts)]
        self.given = [seconds(block) for block in given_note]
        self.turns, self.sounds, self.late, self.leads, self.durations, self.ghosts, self.heard = (
            columns(data["guides"][guide])
        )
        landings, self.fingers, self.origins, shapes = columns(data["travels"][travels])
        self.landings = list(accumulate(landings))
        self.shapes = [list(accumulate(each)) for each in columns(shapes)]

    def cents(self, slide: int, share: float) -> float:
        """Above the tonic, at a share of the slide's time."""
        shape = self.shapes[slide]
        at = share * (len(shape) - 1)
        low = min(int(at), len(shape) - 2)
        tenths = shape[low] + (shape[low + 1] - shape[low]) * (at - low)
        return self.origins[slide] / 100 + tenths / 10
