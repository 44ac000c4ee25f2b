"""The timeline: what sounds when, as data. Tests, the page and later tools read it.

Seconds count from the first frame of the file and are those of the 64-frame blocks on which
the sound acts; keys and pitches are in ASCII. Each note owns the slide and the ghost note that
lead into it. As JSON, ghost notes stand among the notes in order of time and slides in a list of
their own; `into` is the place among the notes of the note that they lead to.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from playalong.errors import PlayalongError

FORMAT = "playalong timeline 1"


READING_ERRORS = (ValueError, KeyError, TypeError, IndexError, AttributeError, RecursionError)


class TimelineError(PlayalongError):
    """A text that is no timeline."""


@dataclass(frozen=True)
class TimelineClick:
    at_seconds: float
    accent: bool
    count_in: bool
    sweep: bool


@dataclass(frozen=True)
class TimelineDrone:
    from_seconds: float
    to_seconds: float
    hz: tuple[float, ...]


@dataclass(frozen=True)
class TimelineSlide:
    """A travel into a note; without a length where none is asked for or there is no room."""

    from_seconds: float
    to_seconds: float
    kind: str
    finger: int | None
    string: str | None
    from_hz: float
    to_hz: float
    travel_mm: float | None  # the way of what slides
    sounds: bool
    curve: tuple[tuple[float, float], ...]  # seconds and Hz, a point at least every 10 ms
    hand_travel_mm: float | None = None  # None where no hand is modelled


@dataclass(frozen=True)
class TimelineNote:
    """A note, or the ghost note that prepares one. `from` and `to` are the written times."""

    from_seconds: float
    to_seconds: float
    hz: float
    pitch: str
    finger: int | None
    string: str | None
    position: int | None
    bar: int  # 0, like the pass, for the note that the count-in gives
    pass_number: int
    # From the bar line, less than 0 in an upbeat; of a ghost, from that of the note it prepares.
    beat: float
    sounds: bool
    role: str  # note or ghost
    onset: bool  # False where it is reached by a bend
    cents_above_tonic: float
    voice: int = 1  # 1 is the lower of two notes that sound together
    grace: bool = False  # it takes no time of its bar; its beat is told just before its note's
    heard_from_seconds: float | None = None  # where the guide enters late
    slide: TimelineSlide | None = None
    ghost: TimelineNote | None = None

    @property
    def is_given(self) -> bool:
        """Whether it is the first note, given softly in the count-in."""
        return self.pass_number == 0


@dataclass(frozen=True)
class TimelineBar:
    """A bar of the count-in, of the music or of click between passes."""

    from_seconds: float
    to_seconds: float
    bar: int | None  # 0 in the count-in, None where the click is alone between passes
    pass_number: int  # 0 in the count-in; between passes that of the one before
    beats_seconds: tuple[float, ...]  # where each beat begins, and a part of one at its start
    beat: float = 0.0  # at which it begins: less than 0 in an upbeat to the bar of its number


@dataclass(frozen=True)
class Timeline:
    """One track. `notes` are the written ones in order of time, each with its slide and ghost.

    `bars` lead from the first frame to the end of the music without a gap.
    """

    title: str
    instrument: str
    a4_hz: float
    temperament: str
    bpm: int
    meter: str
    stage: str
    key: str
    string: str | None
    seconds: float
    tonic_hz: float
    clicks: tuple[TimelineClick, ...]
    drone: tuple[TimelineDrone, ...]
    notes: tuple[TimelineNote, ...]
    bars: tuple[TimelineBar, ...] = ()

    @classmethod
    def from_json(cls, text: str) -> Timeline:
        """A timeline from its JSON. TimelineError for a text that is none."""
        try:
            return _read(json.loads(text))
        except READING_ERRORS as error:
            reason = f"{type(error).__name__}: {error}"
            raise TimelineError(f"this is not a timeline that can be read ({reason})") from None

    @property
    def all_notes(self) -> tuple[TimelineNote, ...]:
        """Notes and ghost notes in order of time, as the JSON lists them."""
        listed = [each for note in self.notes for each in (note.ghost, note) if each]
        return tuple(sorted(listed, key=lambda note: note.from_seconds))

    @property
    def slides(self) -> tuple[TimelineSlide, ...]:
        return tuple(note.slide for note in self.notes if note.slide)

    def data(self) -> dict[str, Any]:
        """The timeline as plain data, ready for JSON."""
        listed = self.all_notes
        places = {id(note): place for place, note in enumerate(listed)}
        into = {id(note.ghost): places[id(note)] for note in self.notes if note.ghost}
        return {
            "format": FORMAT,
            **{name: getattr(self, name) for name in _HEADINGS},
            "clicks": [_data(each, _CLICK) for each in self.clicks],
            "drone": [{**_data(each, _DRONE), "hz": list(each.hz)} for each in self.drone],
            "notes": [_note_data(note, into.get(id(note))) for note in listed],
            "slides": [
                _slide_data(note.slide, places[id(note)]) for note in self.notes if note.slide
            ],
            "bars": [_bar_data(each) for each in self.bars],
        }

    def to_json(self) -> str:
        """JSON text, one entry a line, the same for the same timeline."""
        lines = []
        for name, value in self.data().items():
            if isinstance(value, list) and value:
                entries = ",\n  ".join(_json(entry) for entry in value)
                lines.append(f'"{name}": [\n  {entries}\n]')
            else:
                lines.append(f'"{name}": {_json(value)}')
        return "{\n" + ",\n".join(lines) + "\n}\n"


# Names in JSON and the fields that they fill, in their order there.
_HEADINGS = (
    "title", "instrument", "a4_hz", "temperament", "bpm", "meter", "stage", "key", "string",
    "seconds", "tonic_hz",
)  # fmt: skip
_CLICK = {"at": "at_seconds", "accent": "accent", "count_in": "count_in", "sweep": "sweep"}
_DRONE = {"from": "from_seconds", "to": "to_seconds", "hz": "hz"}
_NOTE = {
    "from": "from_seconds",
    "to": "to_seconds",
    "hz": "hz",
    "pitch": "pitch",
    "finger": "finger",
    "string": "string",
    "position": "position",
    "bar": "bar",
    "pass": "pass_number",
    "beat": "beat",
    "sounds": "sounds",
    "role": "role",
    "onset": "onset",
    "cents_above_tonic": "cents_above_tonic",
    "voice": "voice",
}
_SLIDE = {
    "from": "from_seconds",
    "to": "to_seconds",
    "kind": "kind",
    "finger": "finger",
    "string": "string",
    "from_hz": "from_hz",
    "to_hz": "to_hz",
    "travel_mm": "travel_mm",
    "hand_travel_mm": "hand_travel_mm",
    "sounds": "sounds",
    "curve": "curve",
}
_BAR = {"from": "from_seconds", "to": "to_seconds", "bar": "bar", "pass": "pass_number"}


def _data(entry: object, names: Mapping[str, str]) -> dict[str, Any]:
    return {name: getattr(entry, field) for name, field in names.items()}


def _fields(data: Mapping[str, Any], names: Mapping[str, str]) -> dict[str, Any]:
    return {field: data[name] for name, field in names.items()}


def _note_data(note: TimelineNote, into: int | None) -> dict[str, Any]:
    data = _data(note, _NOTE)
    if note.grace:
        data["grace"] = True
    if note.heard_from_seconds is not None:
        data["heard_from"] = note.heard_from_seconds
    if into is not None:
        data["into"] = into
    return data


def _slide_data(slide: TimelineSlide, into: int) -> dict[str, Any]:
    return {**_data(slide, _SLIDE), "curve": [list(point) for point in slide.curve], "into": into}


def _bar_data(bar: TimelineBar) -> dict[str, Any]:
    upbeat = {"beat": bar.beat} if bar.beat else {}
    return {**_data(bar, _BAR), "beats": list(bar.beats_seconds), **upbeat}


def _read(data: Mapping[str, Any]) -> Timeline:
    if data["format"] != FORMAT:
        raise ValueError(f"its format is {data['format']!r}, not {FORMAT!r}")
    listed = [_read_note(each) for each in data["notes"]]
    slides = {each["into"]: _read_slide(each) for each in data["slides"]}
    ghosts = {
        each["into"]: note
        for each, note in zip(data["notes"], listed, strict=True)
        if note.role == "ghost"
    }
    return Timeline(
        **{name: data[name] for name in _HEADINGS},
        clicks=tuple(TimelineClick(**_fields(each, _CLICK)) for each in data["clicks"]),
        drone=tuple(
            TimelineDrone(each["from"], each["to"], tuple(each["hz"])) for each in data["drone"]
        ),
        notes=tuple(
            replace(note, slide=slides.get(place), ghost=ghosts.get(place))
            for place, note in enumerate(listed)
            if note.role == "note"
        ),
        bars=tuple(
            TimelineBar(
                **_fields(each, _BAR),
                beats_seconds=tuple(each["beats"]),
                beat=each.get("beat", 0.0),
            )
            for each in data.get("bars", ())  # the first timelines had none
        ),
    )


def _read_note(data: Mapping[str, Any]) -> TimelineNote:
    return TimelineNote(
        **_fields(data, _NOTE),
        grace=data.get("grace", False),
        heard_from_seconds=data.get("heard_from"),
    )


def _read_slide(data: Mapping[str, Any]) -> TimelineSlide:
    curve = tuple((seconds, hz) for seconds, hz in data["curve"])
    told = {"hand_travel_mm": None, **data}  # the first timelines had none
    return TimelineSlide(**{**_fields(told, _SLIDE), "curve": curve})


def _json(value: object) -> str:
    return json.dumps(value, ensure_ascii=False, separators=(", ", ": "))
