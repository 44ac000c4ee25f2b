"""Warnings to the teacher: what a better token would say, and hands that strain."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise

from playalong.drill.model import Drill
from playalong.instrument.fingerboard import Fingerboard
from playalong.instrument.position import finger_name, finger_words
from playalong.music.key import Key
from playalong.score.model import Notehead, StartingPosition


def slips(
    drill: Drill, own_key: Key, kept: Sequence[tuple[int, Sequence[tuple[Notehead, ...]]]]
) -> Iterator[str]:
    """What a better token would say: another spelling, or another position, in the written bars."""
    written = next((heads for letters, heads in kept if not letters), ())
    bars = zip(drill.bars, drill.pattern.bars, strict=True)
    events = [(event, bar.key or own_key) for bar, events in bars for event in events]
    for (event, key), heads in zip(events, written, strict=False):
        for symbol, head in zip(event.symbols, heads, strict=True):
            if head.finger is None:
                continue
            token, place = f'"{event.origin.text}"', f"{head.position and head.position.written}:"
            stopped = head.touched.place if head.touched else head.pitch
            pitch = drill.instrument.as_written(stopped)
            if symbol.alter and (better := key.respelled(pitch)):
                offer = f'write "{place} {better}={finger_name(head.finger)}"'
                yield f"{token} sounds {pitch}, which {key} spells {better}: {offer}"
            if not symbol.is_pitch and symbol.finger != head.finger:
                under = finger_name(head.finger)
                yield f"{token}: in {key} {pitch} lies under finger {under}, which plays it"
            if symbol.placed and head.position not in (None, symbol.position):
                yield (
                    f"{token}: {finger_words(head.finger)} does not reach {pitch} in "
                    f"position {symbol.position}, so the hand goes to position {head.position}; "
                    f'write "{place}" before it if it should'
                )


def strains(drill: Drill, climb: Sequence[StartingPosition], board: Fingerboard) -> Iterator[str]:
    """Hands that no drill should ask for without knowing it."""
    for stop, bar in [(note.stop, note.bar) for stand in climb for note in stand.notes]:
        if stop and stop.finger in board.named(stop.string, stop.position).rare:
            where = f"bar {bar}, position {stop.position} on the {stop.string} string"
            yield f"{where}: {finger_words(stop.finger)} is rarely used there"
    played = [notes for stand in climb for notes in ([stand.notes] * min(drill.passes, 2))]
    for old, new in pairwise([note for notes in played for note in notes]):
        one, two = old.stop, new.stop
        if one and two and (one.string, one.position) == (two.string, two.position):
            where = f"bar {new.bar}, position {two.position} on the {two.string} string"
            for strain in board.strains(one, two):
                yield f"{where}: {strain}"
