"""A track's exported files as a reader has them: the timeline's data and what the MIDI holds."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import smf
from playing import midi_bytes, play

from playalong.performance.timing import timeline_of

CONDUCTOR, GUIDE, GHOST, DRONE, CLICK = range(5)


@dataclass(frozen=True)
class Sounding:
    """One note of the MIDI file, in seconds."""

    channel: int
    key: int
    start: float
    end: float


@dataclass(frozen=True)
class Exported:
    timeline: dict[str, Any]
    midi: smf.File

    @property
    def notes(self) -> list[dict[str, Any]]:
        """The written notes, without the one given in the count-in."""
        return [n for n in self.timeline["notes"] if n["role"] == "note" and n["bar"]]

    @property
    def ghosts(self) -> list[dict[str, Any]]:
        return [note for note in self.timeline["notes"] if note["role"] == "ghost"]

    @property
    def slides(self) -> list[dict[str, Any]]:
        return list(self.timeline["slides"])

    @property
    def tick_seconds(self) -> float:
        (tempo,) = (e.data[2:] for e in self.midi.tracks[CONDUCTOR] if e.data[:2] == b"\xff\x51")
        return int.from_bytes(tempo, "big") / 1e6 / self.midi.division

    def sounding(self, track: int) -> list[Sounding]:
        """What one track of the file plays, by the begin of each note."""
        begun: dict[tuple[int, int], float] = {}
        found = []
        for event in self.midi.tracks[track]:
            if event.kind not in (8, 9):
                continue
            at, place = event.tick * self.tick_seconds, (event.channel, event.data[1])
            if event.kind == 9 and event.data[2]:
                begun[place] = at
            else:
                found.append(Sounding(*place, begun.pop(place), at))
        return sorted(found, key=lambda note: note.start)

    def controls(self, track: int, number: int) -> Iterator[tuple[float, int, int]]:
        """Seconds, channel and value of every change of one controller in a track."""
        for event in self.midi.tracks[track]:
            if event.kind == 0xB and event.data[1] == number:
                yield event.tick * self.tick_seconds, event.channel, event.data[2]


def exported(bar: str, more: str = "", **settings: Any) -> Exported:
    """A drill's track in its first key and on its first string: `bpm`, `stage`, `instrument`."""
    performance = play(bar, more, **settings)
    return Exported(timeline_of(performance).data(), smf.read(midi_bytes(performance)))
