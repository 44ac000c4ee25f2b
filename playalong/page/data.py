"""Everything that the page knows, as plain data: the drill, its keys and strings, its tracks."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import groupby
from math import ceil
from typing import Any

from playalong.drill.model import Drill
from playalong.drill.stage import Stage
from playalong.engraving.words import score_title
from playalong.engraving.written_score import write_down
from playalong.errors import PlayalongError
from playalong.folder.manifest import Manifest, SessionEntry
from playalong.guidance import CAUTIONS, PRACTICE
from playalong.music.meter import TICKS_PER_QUARTER
from playalong.music.pitch import pretty
from playalong.music.temperament import cents
from playalong.page.lines import ROOMS_MM, UNITS, Signs, engraving
from playalong.page.music import Music, note_rows, ticks
from playalong.performance.clock import BLOCK_FRAMES, SAMPLE_RATE_HZ, Clock
from playalong.performance.perform import LONGEST_SLIDE_SECONDS, perform
from playalong.performance.performance import Performance
from playalong.performance.track_layout import TrackLayout, drone_pitches, tonic
from playalong.score.model import Score

FORMAT = "playalong page 1"


class PageError(PlayalongError):
    """A practice page that cannot be made."""


def page_data(manifest: Manifest, drill: Drill, scores: Sequence[Score]) -> dict[str, Any]:
    """The page's data; `scores` are the drill's in the order of practice."""
    sets = list(_sets(manifest, scores))
    numbers = {(each.key.name, each.string): n for n, each in enumerate(sets)}
    music, signs = Music(), Signs()
    tracks = []
    for entry in manifest.tracks:
        number = numbers[entry.key, entry.string]
        performance = sets[number].performance(_stage(drill, entry.stage), entry.bpm)
        tracks.append(
            {
                "set": number,
                "number": entry.number,
                "bpm": entry.bpm,
                "stage": entry.stage,
                "us": performance.clock.microseconds,
                "seconds": round(entry.seconds, 6),
                "audio": entry.audio,
                "stems": entry.stems,
                "music": music.number(performance),
            }
        )
    sessions = [
        {
            "set": numbers[entry.key, entry.string],
            "seconds": round(entry.seconds, 6),
            "audio": entry.audio,
            "parts": list(_parts(manifest, drill, entry, sets, numbers, music)),
        }
        for entry in manifest.sessions
    ]
    return {
        "format": FORMAT,
        "title": drill.title,
        "drill": manifest.drill_sha256[:16],
        "clock": {"grid": TICKS_PER_QUARTER, "frames": BLOCK_FRAMES, "rate": SAMPLE_RATE_HZ},
        "longest": float(LONGEST_SLIDE_SECONDS),
        **_frame(drill, sets[0].score),
        "stages": {stage.name: stage.words for stage in drill.stages},
        "practice": list(PRACTICE),
        "cautions": list(CAUTIONS),
        "left_out": list(manifest.left_out),
        "sheet": manifest.sheet,
        "sets": [each.data(signs) for each in sets],
        "units": UNITS,
        "rooms": {name: round(room * UNITS) for name, room in ROOMS_MM.items()},
        "glyphs": signs.glyphs.values,
        "texts": signs.texts.values,
        "tracks": tracks,
        "sessions": sessions,
        **music.data(),
    }


class _Set:
    """One key and string."""

    def __init__(self, score: Score) -> None:
        self.score, self.drill = score, score.drill
        self.key, self.string = score.key, score.string

    def performance(
        self, stage: Stage, bpm: int, first: int = 0, last: int | None = None
    ) -> Performance:
        """Of all starting positions, or of those from `first` up to `last`."""
        return perform(self.score, bpm, stage, stands=slice(first, last))

    def data(self, signs: Signs) -> dict[str, Any]:
        score = self.score
        written = write_down(score)
        tonic_hz = score.board.hz(tonic(score))
        instrument = self.drill.instrument
        string = f"{self.string} ({instrument.roman(self.string)})" if self.string else ""
        return {
            "key": self.key.name,
            "key_name": pretty(self.key.name),
            "string": self.string,
            "string_name": string,
            "name": score_title(score),
            "places": len(score.climb),
            "notes": note_rows(score, tonic_hz),
            "drone": [round(cents(hz, tonic_hz), 1) for _, hz in drone_pitches(score)],
            "lines": {name: engraving(written, room, signs) for name, room in ROOMS_MM.items()},
        }


def _sets(manifest: Manifest, scores: Sequence[Score]) -> Iterator[_Set]:
    """Keys and strings in the manifest's order."""
    known = {(score.key.name, score.string): score for score in scores}
    found = dict.fromkeys((entry.key, entry.string) for entry in manifest.tracks)
    if not found:
        raise PageError("there is no track to practise with, so there is no page to write")
    for key, string in found:
        if (key, string) not in known:
            raise PageError(f"the tracks are in {key}, and the drill is not; make the tracks anew")
        yield _Set(known[key, string])


def _stage(drill: Drill, name: str) -> Stage:
    found = next((stage for stage in drill.stages if stage.name == name), None)
    if found is None:
        raise PageError(f'the drill has no stage "{name}" any more; make the tracks anew')
    return found


def _frame(drill: Drill, score: Score) -> dict[str, Any]:
    """What stands around the music, the same at every tempo: ticks and counts."""
    meter = drill.meter
    clock = Clock.at(drill.tempo.start * meter.beat)
    frame = TrackLayout(score, clock, 1, score.climb)
    return {
        "meter": {"bar": ticks(meter.bar), "beat": ticks(meter.beat), "beats": meter.beats},
        "bars": len(drill.pattern.bars),
        "gap": drill.gap,
        "count_in": drill.click.count_in,
        "given": [ticks(frame.drone_start), ticks(frame.given_end)],
    }


def _parts(
    manifest: Manifest,
    drill: Drill,
    entry: SessionEntry,
    sets: list[_Set],
    numbers: dict[tuple[str, str | None], int],
    music: Music,
) -> Iterator[dict[str, Any]]:
    """The parts of a session; a track that is given in parts has its places shared out evenly."""
    number = numbers[entry.key, entry.string]
    own = sets[number]
    tracks = {
        each.number: (place, each)
        for place, each in enumerate(manifest.tracks)
        if (each.key, each.string) == (entry.key, entry.string)
    }
    for track_number, group in groupby(entry.parts, key=lambda part: part[1]):
        starts = [start for start, _ in group]
        place, track = tracks[track_number]
        size = ceil(len(own.score.climb) / len(starts))
        for count, start in enumerate(starts):
            first = count * size
            performance = own.performance(
                _stage(drill, track.stage), track.bpm, first, first + size
            )
            yield {
                "from": round(start, 6),
                "track": place,
                "seconds": round(performance.seconds, 6),
                "music": music.number(performance, first),
            }
