"""MIDI files of the tests' own making, and of music that music21 reads."""

from __future__ import annotations

import io
import random
from collections.abc import Iterable, Sequence
from fractions import Fraction
from typing import NamedTuple

import mido

TICKS = 480


class Struck(NamedTuple):
    """One note, in quarters."""

    at: Fraction
    length: Fraction
    key: int


def row(keys: Iterable[int], length: Fraction | float = 1, gate: float = 1) -> list[Struck]:
    """Notes one after another, let go of after a share of their time."""
    step = Fraction(length)
    return [Struck(n * step, step * Fraction(gate), key) for n, key in enumerate(keys)]


def track(
    notes: Sequence[Struck],
    *meta: mido.MetaMessage | mido.Message,
    channel: int = 0,
    jitter_quarters: float = 0,
    ticks: int = TICKS,
) -> mido.MidiTrack:
    """Meta messages stand where their `time` says, in quarters; onsets are moved by chance."""
    chance = random.Random(1)
    events: list[tuple[int, int, mido.Message | mido.MetaMessage]] = [
        (round(each.time * ticks), 0, each) for each in meta
    ]
    for at, length, key in notes:
        moved = at + Fraction(chance.gauss(0, jitter_quarters)) if jitter_quarters else at
        start = max(round(moved * ticks), 0)
        end = max(round((moved + length) * ticks), start + 1)
        strike = mido.Message("note_on", note=key, channel=channel)
        events += [
            (start, 2, strike),
            (end, 1, mido.Message("note_off", note=key, channel=channel)),
        ]
    found, now = mido.MidiTrack(), 0
    for at, _, message in sorted(events, key=lambda each: each[:2]):
        found.append(message.copy(time=at - now))
        now = at
    return found


def midi(*tracks: mido.MidiTrack, kind: int = 1, ticks: int = TICKS) -> bytes:
    file = mido.MidiFile(type=kind, ticks_per_beat=ticks)
    file.tracks.extend(tracks)
    stream = io.BytesIO()
    file.save(file=stream)
    return stream.getvalue()


def meta(kind: str, at_quarters: float = 0, **values: object) -> mido.MetaMessage:
    return mido.MetaMessage(kind, time=at_quarters, **values)


def key_signature(name: str, at_quarters: float = 0) -> mido.MetaMessage:
    return meta("key_signature", at_quarters, key=name)


def meter(count: int, unit: int, at_quarters: float = 0) -> mido.MetaMessage:
    return meta("time_signature", at_quarters, numerator=count, denominator=unit)
