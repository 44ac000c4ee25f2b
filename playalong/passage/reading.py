"""Any score to parts: what kind of file it is, and whose reader reads it.

A new reader has its row in KINDS; all give the same values (`model`), so nothing behind them knows
what was read. What a file is follows from its first bytes, never from its name.
"""

from __future__ import annotations

import gc
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass

from playalong.errors import short
from playalong.music.key import Key
from playalong.passage.abc_reader import is_abc, read_abc
from playalong.passage.humdrum import is_humdrum, read_humdrum
from playalong.passage.mei_reader import read_mei
from playalong.passage.midi_reader import read_midi
from playalong.passage.model import Keep, Part, PartName, PassageError
from playalong.passage.score_reader import read_musicxml
from playalong.passage.xml_events import root_name

Wanted = Callable[[tuple[PartName, ...]], PartName]


@dataclass(frozen=True)
class Kind:
    """A kind of file: how it begins, and its reader, which is given a key to spell by."""

    name: str
    is_it: Callable[[bytes], bool]
    read: Callable[[bytes, Keep, Key | None], tuple[Part, ...]]


def _is_mei(data: bytes) -> bool:
    return root_name(data) == "mei"


KINDS = (
    Kind("MIDI", lambda data: data.startswith(b"MThd"), read_midi),
    Kind("Humdrum", is_humdrum, read_humdrum),
    Kind("ABC", is_abc, read_abc),
    Kind("MEI", _is_mei, read_mei),
    Kind("MusicXML", lambda data: True, lambda data, keep, key: read_musicxml(data, keep)),
)


def part_of(data: bytes, wanted: Wanted, key: Key | None = None) -> Part:
    """One part; `wanted` chooses it from the names of all, `key` spells what has no letters.
    PassageError for what is no score."""
    chosen: list[PartName] = []

    def keep(names: tuple[PartName, ...]) -> tuple[PartName, ...]:
        chosen.append(wanted(names))
        return (chosen[0],)

    found = _read(data, keep, key)
    if not found:
        name = chosen[0] if chosen else wanted(())
        raise PassageError(f'the score lists part "{short(str(name))}" but holds no music for it')
    return found[0]


def all_parts(data: bytes) -> tuple[Part, ...]:
    """Every part that holds music. PassageError where none does."""
    found = _read(data, lambda names: names, None)
    if not found:
        raise PassageError("the score holds no music")
    return found


def _read(data: bytes, keep: Keep, key: Key | None) -> tuple[Part, ...]:
    with _uncollected():
        return next(kind for kind in KINDS if kind.is_it(data)).read(data, keep, key)


@contextmanager
def _uncollected() -> Iterator[None]:
    """Without the search for cycles: readers make none, and it would go through all notes that are
    kept again and again, for elements that live no longer than a bar (half the time of a large
    score)."""
    was_on = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_on:
            gc.enable()
