"""The words of a mail, in plain and in HTML: what is attached, how to practise, cautions.

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
from playalong.folder.names import MIDI
from playalong.guidance import CAUTIONS, PRACTICE
from playalong.mail.address import short
from playalong.mail.contents import Item

WIDTH = 72
LONGEST_TITLE = 200  # characters of a title in the text

KIND_WORDS = {
    "read-me": "what is what, how to practise, cautions",
    "sheet": "the drill to read and to print",
    "page": "a page to practise from: open it in a browser",
}


@dataclass(frozen=True)
class Occasion:
    """What the words need beside the files: of several mails, `number` counts from 1."""

    title: str
    stages: tuple[str, ...]
    greeting: str = ""  # a name
    number: int = 1
    total: int = 1
    zipped: str = ""  # name of the zip that holds the files
    notes: tuple[str, ...] = ()  # what the pupil should know of this set


@dataclass(frozen=True)
class Block:
    """A heading with paragraphs or with a list."""

    heading: str
    paragraphs: tuple[str, ...] = ()
    listed: tuple[str, ...] = ()


def mail_words(occasion: Occasion, items: Sequence[Item]) -> tuple[str, str]:
    """The text as plain and as HTML."""
    blocks = list(_outline(occasion, items))
    return _plain(blocks), _html(occasion, blocks)


def numbered(subject: str, number: int, total: int) -> str:
    return f"{subject} ({number} of {total})" if total > 1 else subject


def _outline(occasion: Occasion, items: Sequence[Item]) -> Iterator[Block]:
    hello = f"Hello {short(occasion.greeting)}," if occasion.greeting else "Hello,"
    what = [f"Here are tracks to play along with: {short(occasion.title, LONGEST_TITLE)}."]
    if occasion.total > 1:
        what.append(
            f"This is mail {occasion.number} of {occasion.total}, because one would be too large. "
            "Save the files of all of them in one folder."
        )
    if occasion.zipped:
        what.append(
            f"The files are packed in {occasion.zipped}: save it, then open it to unpack them."
        )
    yield Block("", (hello, " ".join([*what, *occasion.notes])))
    yield Block("What is attached", listed=tuple(_listed(items)))
    stages = tuple(f"{name}: {stage_words(name)}" for name in occasion.stages)
    yield Block("The stages", listed=stages)
    yield Block("How to practise", listed=PRACTICE)
    yield Block("Please read", listed=CAUTIONS)


def _listed(items: Sequence[Item]) -> Iterator[str]:
    """A line for each single file, and one for all tracks of a key and string."""
    for kind in KIND_WORDS:
        for item in items:
            if item.kind == kind:
                yield f"{item.place.name}: {KIND_WORDS[kind]}"
    tracks = [item for item in items if item.kind == "track"]
    for group, each in groupby(tracks, key=lambda item: item.group):
        members = list(each)
        bpms = list(dict.fromkeys(item.bpm for item in members))
        numbers = _span([item.number for item in members])
        some = "track" if len(members) == 1 else "tracks"
        yield f"{group}: {some} {numbers}, at {_span(bpms)} beats a minute"
    if any(item.kind == "stem" for item in items):
        yield "guide, drone and click of each track apart: for the balance on the page"
    if any(item.kind == "midi" for item in items):
        yield f"{MIDI} files: the same tracks for any synthesizer or notation program"
    for item in items:
        if item.kind == "session":
            minutes = max(1, round(item.seconds / 60))
            yield f"{item.group}: a hands-free session of {minutes} min, with rests"


def _span(numbers: Sequence[int]) -> str:
    """`1 to 12` where numbers follow on or climb, else the number itself."""
    first, last = numbers[0], numbers[-1]
    return str(first) if first == last else f"{first} to {last}"


def _plain(blocks: Sequence[Block]) -> str:
    lines: list[str] = []
    for block in blocks:
        lines += [block.heading, ""] if block.heading else []
        for paragraph in block.paragraphs:
            lines += [_wrapped(paragraph), ""]
        for each in block.listed:
            lines.append(_wrapped(each, "- "))
        lines += [""] if block.listed else []
    return "\n".join(lines).rstrip() + "\n"


def _wrapped(text: str, start: str = "") -> str:
    return textwrap.fill(
        text, WIDTH, initial_indent=start, subsequent_indent=" " * len(start),
        break_on_hyphens=False,
    )  # fmt: skip


def _html(occasion: Occasion, blocks: Sequence[Block]) -> str:
    title = escape(short(occasion.title, LONGEST_TITLE))
    lines = [
        "<!DOCTYPE html>",
        '<html lang="en">',
        f'<head><meta charset="utf-8"><title>{title}</title></head>',
        "<body>",
    ]
    for block in blocks:
        if block.heading:
            lines.append(f"<h2>{escape(block.heading)}</h2>")
        lines += [f"<p>{escape(paragraph)}</p>" for paragraph in block.paragraphs]
        if block.listed:
            lines += ["<ul>", *(f"<li>{escape(each)}</li>" for each in block.listed), "</ul>"]
    return "\n".join([*lines, "</body>", "</html>"]) + "\n"
