"""Everything that the page knows, as plain data: the drill, its keys and strings, its tracks."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from playalong.drill.model import Drill
from playalong.engraving.reading import reading_words
from playalong.engraving.words import landing_words, score_title
from playalong.engraving.written_score import WrittenScore, write_down
from playalong.errors import PlayalongError
from playalong.folder.manifest import Manifest, SessionEntry, TrackEntry
from playalong.guidance import cautions, practice
from playalong.music.pitch import pretty
from playalong.music.temperament import cents
from playalong.page.packing import Beat, Packing, written_notes
from playalong.page.systems import ROOMS_MM, UNITS, Signs, engraving
from playalong.performance.clock import BLOCK_FRAMES, SAMPLE_RATE_HZ
from playalong.performance.timeline import Timeline, TimelineNote
from playalong.score.explanation import stage_words
from playalong.score.model import Score

FORMAT = "playalong page 2"


class PageError(PlayalongError):
    """A practice page that cannot be made."""


@dataclass(frozen=True)
class PracticeSet:
    """One key and string: its score, and its tracks and sessions with what sounds in them.

    Timelines are taken one at a time, so that no more than one need be held: a track's beside its
    entry, a session's in the order of its parts.
    """

    score: Score
    tracks: Iterable[tuple[TrackEntry, Timeline]]
    sessions: Iterable[tuple[SessionEntry, Iterable[Timeline]]] = ()


def page_data(manifest: Manifest, drill: Drill, sets: Sequence[PracticeSet]) -> dict[str, Any]:
    """The page's data; `sets` are those of the manifest's tracks, in the order of practice."""
    content, scores = _Content(), [each.score for each in sets]
    for each in sets:
        content.take(each)
    if not content.tracks:
        raise PageError("there is no track to practise with, so there is no page to write")
    return {
        "format": FORMAT,
        "title": drill.title,
        "drill": manifest.drill_sha256[:16],
        "block": {"frames": BLOCK_FRAMES, "rate": SAMPLE_RATE_HZ},
        "beats": max(bar.meter.beats for bar in drill.bars),
        "upbeat_in": drill.meter.beats,
        "quarter_beats": drill.meter.beat == 1,
        "stages": {stage.name: stage_words(stage, scores) for stage in drill.stages},
        "reading": reading_words(content.papers),
        "practice": list(practice(drill.instrument.manner)),
        "cautions": list(cautions(drill.instrument.manner)),
        "at_rest": drill.instrument.manner.at_rest,
        "left_out": list(manifest.left_out),
        "sheet": manifest.sheet,
        **content.data(),
    }


class _Content:
    """Keys and strings, tracks and sessions, and the tables that they share."""

    def __init__(self) -> None:
        self.packing, self.signs = Packing(), Signs()
        self.sets: list[dict[str, Any]] = []
        self.papers: list[WrittenScore] = []
        self.tracks: list[dict[str, Any]] = []
        self.sessions: list[dict[str, Any]] = []

    def take(self, practice: PracticeSet) -> None:
        """A set's tracks, then its sessions, which are made of them."""
        score, number = practice.score, len(self.sets)
        bars = score.drill.bar_count
        notes: dict[Beat, TimelineNote] = {}
        homes: list[tuple[int, float]] = []
        places: dict[int, int] = {}  # by the tracks' numbers
        for entry, timeline in practice.tracks:
            notes = notes or written_notes(timeline)
            homes = homes or list(_homes(timeline))
            places[entry.number] = len(self.tracks)
            music = self.packing.number(timeline, notes, bars)
            self.tracks.append(_track(entry, number, music))
        for session, timelines in practice.sessions:
            parts = [
                {
                    "from": round(start, 6),
                    "track": places[track],
                    "seconds": timeline.seconds,
                    "music": self.packing.number(timeline, notes, bars),
                }
                for (start, track), timeline in zip(session.parts, timelines, strict=True)
            ]
            self.sessions.append(
                {
                    "set": number,
                    "seconds": round(session.seconds, 6),
                    "audio": session.audio,
                    "parts": parts,
                }
            )
        self.papers.append(write_down(score))
        self.sets.append(_set(self.papers[-1], notes.values(), homes, self.signs))

    def data(self) -> dict[str, Any]:
        return {
            "sets": self.sets,
            "rooms": {name: round(room * UNITS) for name, room in ROOMS_MM.items()},
            "glyphs": self.signs.glyphs.values,
            "texts": self.signs.texts.values,
            "tracks": self.tracks,
            "sessions": self.sessions,
            **self.packing.data(),
        }


def _track(entry: TrackEntry, number: int, music: int) -> dict[str, Any]:
    return {
        "set": number,
        "bpm": entry.bpm,
        "stage": entry.stage,
        "seconds": round(entry.seconds, 6),
        "audio": entry.audio,
        "stems": entry.stems,
        "music": music,
    }


def _told(score: Score) -> Iterator[list[str]]:
    """Of each note, in words where there are any: its string where it is new, and its shift."""
    before = None
    for note in score.notes:
        told = [f"{note.string} string"] if note.string and note.string != before else []
        if note.arrival and note.is_landing:
            told.append(landing_words(note.arrival))
        before = note.string
        yield [", ".join(told)] if told else []


def _homes(timeline: Timeline) -> Iterator[tuple[int, float]]:
    """Where the drone moves to another tonic: from which bar on, to how many cents above the first,
    within an octave."""
    home = 0.0
    for bar in timeline.bars:
        sounding = [each for each in timeline.drone if each.from_seconds <= bar.from_seconds]
        if bar.bar and bar.pass_number == 1 and len(timeline.drone) > 1:
            now = round(cents(sounding[-1].hz[0], timeline.tonic_hz), 1) % 1200
            if now != home:
                home = now
                yield bar.bar, home


def _set(
    paper: WrittenScore, notes: Iterable[TimelineNote], homes: list[tuple[int, float]], signs: Signs
) -> dict[str, Any]:
    """A key and string: its names, its written notes, where home moves, and its engraving."""
    score = paper.score
    string, instrument = score.string, score.drill.instrument
    return {
        "key": score.key.name,
        "key_name": pretty(score.key.name),
        "string": string,
        "string_name": f"{string} ({instrument.roman(string)})" if string else "",
        "name": score_title(score),
        "notes": [
            [note.bar, note.cents_above_tonic, note.pitch, note.finger, note.position, *told]
            for note, told in zip(notes, _told(score), strict=True)
        ],
        "homes": homes,
        "lines": {name: engraving(paper, room, signs) for name, room in ROOMS_MM.items()},
    }
