"""The text of a mail, in plain and in HTML: what is attached, how to practise, cautions.

One outline is written twice, so that both say the same. Everything that comes from a drill or a
person is escaped in HTML.
"""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from html import escape
from itertools import groupby

from playalong.drill.stage import stage_words
from playalong.errors import short
from playalong.folder.manifest import SessionEntry, TrackEntry
from playalong.folder.names import MIDI, PAGE_FOLDER
from playalong.guidance import EITHER, cautions, practice
from playalong.mail.contents import Item, Kind

WIDTH = 72
LONGEST_TITLE, LONGEST_GREETING = 200, 80  # characters of a title and a name in the text

SINGLE_FILES: dict[Kind, str] = {
    "read-me": "what is what, how to practise, cautions",
    "sheet": "the drill to read and to print",
    "page": "a page to practise from: open it in a browser",
}


@dataclass(frozen=True)
class Section:
    """A heading with paragraphs or with a list."""

    heading: str
    paragraphs: tuple[str, ...] = ()
    listed: tuple[str, ...] = ()


@dataclass(frozen=True)
class Body:
    """What the text tells; of several mails, `number` counts from 1."""

    title: str
    stages: tuple[str, ...]
    items: Sequence[Item]
    greeting: str = ""  # a name
    number: int = 1
    total: int = 1
    zip_name: str = ""  # of the zip that holds the files, if one does

    def plain(self) -> str:
        lines: list[str] = []
        for section in self._sections():
            lines += [section.heading, ""] if section.heading else []
            for paragraph in section.paragraphs:
                lines += [_wrapped(paragraph), ""]
            for each in section.listed:
                lines.append(_wrapped(each, "- "))
            lines += [""] if section.listed else []
        return "\n".join(lines).rstrip() + "\n"

    def html(self) -> str:
        title = escape(short(self.title, LONGEST_TITLE))
        lines = [
            "<!DOCTYPE html>",
            '<html lang="en">',
            f'<head><meta charset="utf-8"><title>{title}</title></head>',
            "<body>",
        ]
        for section in self._sections():
            if section.heading:
                lines.append(f"<h2>{escape(section.heading)}</h2>")
            lines += [f"<p>{escape(paragraph)}</p>" for paragraph in section.paragraphs]
            if section.listed:
                lines += ["<ul>", *(f"<li>{escape(each)}</li>" for each in section.listed), "</ul>"]
        return "\n".join([*lines, "</body>", "</html>"]) + "\n"

    def _sections(self) -> Iterator[Section]:
        hello = f"Hello {short(self.greeting, LONGEST_GREETING)}," if self.greeting else "Hello,"
        what = [f"Here are tracks to practise with: {short(self.title, LONGEST_TITLE)}."]
        if self.total > 1:
            what.append(
                f"This is mail {self.number} of {self.total}, because one would be too large. "
                "Save the files of all of them in one folder."
            )
        if self.zip_name:
            what.append(
                f"The files are packed in {self.zip_name}: save it, then open it to unpack them."
            )
        yield Section("", (hello, " ".join(what)))
        yield Section("What is attached", listed=tuple(_attached(self.items)))
        stages = tuple(f"{name}: {stage_words(name)}" for name in self.stages)
        yield Section("The stages", listed=stages)
        yield Section("How to practise", listed=practice(EITHER))
        yield Section("Please read", listed=cautions(EITHER))


def _attached(items: Sequence[Item]) -> Iterator[str]:
    """A line for each single file, and one for all tracks of a key and string."""
    for kind, words in SINGLE_FILES.items():
        for item in items:
            if item.kind == kind:
                yield f"{item.listed.name}: {words}"
    tracks = [item.track for item in items if item.kind == "track" and item.track]
    for name, group in groupby(tracks, key=_key_and_string):
        members = list(group)
        numbers = _span([track.number for track in members])
        bpms = _span([track.bpm for track in members])
        some = "track" if len(members) == 1 else "tracks"
        yield f"{name}: {some} {numbers}, at {bpms} beats a minute"
    if any(item.kind == "page sound" for item in items):
        yield f"{PAGE_FOLDER}: the sound once more, as the page reads it"
    if any(item.kind == "midi" for item in items):
        yield f"{MIDI} files: the same tracks for any synthesizer or sequencer"
    for item in items:
        if item.session:
            minutes = max(1, round(item.session.seconds / 60))
            name = _key_and_string(item.session)
            yield f"{name}: a hands-free session of {minutes} min, with rests"


def _key_and_string(entry: TrackEntry | SessionEntry) -> str:
    return f"{entry.key}, {entry.string} string" if entry.string else entry.key


def _span(numbers: Sequence[int]) -> str:
    """`1 to 12` where numbers follow on or climb, else the number itself."""
    first, last = numbers[0], numbers[-1]
    return str(first) if first == last else f"{first} to {last}"


def _wrapped(text: str, start: str = "") -> str:
    return textwrap.fill(
        text,
        WIDTH,
        initial_indent=start,
        subsequent_indent=" " * len(start),
        break_on_hyphens=False,
    )
