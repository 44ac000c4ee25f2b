"""ABC to parts: every voice of every tune is one.

By a reader of ours (ABC standard 2.1): verovio loses accidentals that hold in the bar, how long
chords last, fingers, keys that change and all voices but one, and aborts on some files.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from playalong.errors import short
from playalong.music.key import Key
from playalong.passage.abc_bars import Room
from playalong.passage.abc_fields import Fields
from playalong.passage.abc_voice import Voice
from playalong.passage.model import Keep, Part, PartName, PassageError, ScoreBar
from playalong.passage.numbering import numbered
from playalong.passage.xml_events import MOST_BARS

MOST_BYTES = 512 * 1024
MOST_NOTES = 50_000
MOST_VOICES = 5_000  # of all tunes
ONLY_VOICE = "1"
MUSIC = ""  # what stands in place of a field's letter
NOT_MUSIC = "wW+"  # words below the notes, and further lines of a field
_START = re.compile(r"^X:", re.MULTILINE)
_COMMENT = re.compile(r"(?<!\\)%.*")
_FIELD = re.compile(r"([A-Za-z+]):(.*)")
_VOICE = re.compile(r"\[V:[ \t]*([^\]]+)\]")
_NAME = re.compile(r'\b(?:name|nm)="([^"]*)"')


def is_abc(data: bytes) -> bool:
    """Whether a tune begins: a number, and a key below it (ABC standard 2.1, 2.2.1)."""
    start = re.search(rb"^X:[ \t]*\d", data, re.MULTILINE)
    return start is not None and re.search(rb"^K:", data[start.end() :], re.MULTILINE) is not None


@dataclass(frozen=True)
class _Tune:
    title: str
    head: tuple[tuple[str, str], ...]  # fields of all voices
    voices: dict[str, list[tuple[str, str]]]  # by name: fields, and lines of music
    labels: dict[str, str]  # of voices, where they have one

    def bars(self, voice: str, room: Room) -> tuple[ScoreBar, ...]:
        reader = Voice(Fields(), room)
        for letter, text in self.head:
            reader.field(letter, text)
        reader.settle()
        for letter, text in self.voices[voice]:
            if letter == MUSIC:
                reader.read(text)
            else:
                reader.field(letter, text)
        return reader.end()

    def name(self, voice: str, *, is_alone: bool) -> str:
        """By the title where the file has other tunes, by the voice where the tune has others."""
        label = self.labels.get(voice) or (voice if len(self.voices) > 1 else "")
        titled = not is_alone or not label
        return short(" ".join(word for word in (self.title * titled, label) if word))


def read_abc(data: bytes, keep: Keep, _key: Key | None) -> tuple[Part, ...]:
    """The parts that `keep` keeps, if they hold music. PassageError for what is no ABC."""
    if len(data) > MOST_BYTES:
        raise PassageError(f"the ABC file has more than {MOST_BYTES >> 10} kB")
    try:
        text = data.decode("utf-8")
    except UnicodeDecodeError:
        text = data.decode("latin-1")
    tunes = list(_tunes(text))
    rows = [(tune, voice) for tune in tunes for voice in tune.voices]
    if len(rows) > MOST_VOICES:
        raise PassageError(f"the ABC file has more than {MOST_VOICES:,} voices and tunes")
    names = [
        PartName(number, str(number), tune.name(voice, is_alone=len(tunes) == 1))
        for number, (tune, voice) in enumerate(rows, 1)
    ]
    kept, room = frozenset(keep(tuple(names))), Room(MOST_BARS, MOST_NOTES)
    return tuple(
        Part(name, tuple(numbered(bars)), tune.title)
        for name, (tune, voice) in zip(names, rows, strict=True)
        if name in kept and (bars := tune.bars(voice, room))
    )


def _tunes(text: str) -> Iterator[_Tune]:
    starts = [found.start() for found in _START.finditer(text)]
    for start, end in zip(starts, [*starts[1:], len(text)], strict=True):
        lines = [_COMMENT.sub("", line).rstrip() for line in text[start:end].splitlines()]
        key = next((place for place, line in enumerate(lines) if line.startswith("K:")), None)
        if key is not None:
            yield _tune(lines[: key + 1], lines[key + 1 :])


def _tune(head: Sequence[str], body: Sequence[str]) -> _Tune:
    fields = [(found[1], found[2].strip()) for line in head if (found := _FIELD.match(line))]
    titles = [text for letter, text in fields if letter == "T" and text]
    voices, labels = dict[str, list[tuple[str, str]]](), dict[str, str]()

    def switch(text: str) -> str:
        """To the voice that a field names."""
        id_ = (text.split() or [ONLY_VOICE])[0]
        voices.setdefault(id_, []).append(("V", text))
        if found := _NAME.search(text):
            labels[id_] = short(found[1])
        return id_

    declared = [switch(text) for letter, text in fields if letter == "V"]
    current = (declared or [ONLY_VOICE])[0]
    for line in body:
        found = _FIELD.match(line)
        if found and found[1] == "V":
            current = switch(found[2])
        elif found and found[1] not in NOT_MUSIC:
            voices.setdefault(current, []).append((found[1], found[2]))
        elif not found:
            music, *pairs = _VOICE.split(line)
            voices.setdefault(current, []).append((MUSIC, music))
            for text, more in zip(pairs[::2], pairs[1::2], strict=True):
                current = switch(text)
                voices[current].append((MUSIC, more))
    playing = {
        id_: rows
        for id_, rows in voices.items()
        if any(letter == MUSIC and text.strip() for letter, text in rows)
    }
    title = short(titles[0] if titles else fields[0][1], 200)
    common = tuple((letter, text) for letter, text in fields if letter != "V")
    return _Tune(title, common, playing, labels)
