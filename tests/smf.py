"""A reader of Standard MIDI Files of its own, so that files are not checked by their writer.

After the MIDI 1.0 specification's chapter on Standard MIDI Files.
"""

from __future__ import annotations

import struct
from dataclasses import dataclass

DATA_BYTES = {0x8: 2, 0x9: 2, 0xA: 2, 0xB: 2, 0xC: 1, 0xD: 1, 0xE: 2}


@dataclass(frozen=True)
class Event:
    tick: int
    data: bytes  # status and data; a meta event as FF, type, content without its length

    @property
    def kind(self) -> int:
        """High half of a channel message's status; 0xF for a meta event."""
        return self.data[0] >> 4

    @property
    def channel(self) -> int:
        return self.data[0] & 0xF


@dataclass(frozen=True)
class File:
    format: int
    division: int
    tracks: tuple[tuple[Event, ...], ...]


def quantity(data: bytes, at: int) -> tuple[int, int]:
    """A variable-length quantity and where it ends."""
    value = 0
    for end in range(at, at + 4):
        value = value << 7 | data[end] & 0x7F
        if data[end] < 0x80:
            return value, end + 1
    raise ValueError("a quantity has four bytes at most")


def read(data: bytes) -> File:
    """The whole file; ValueError where a chunk's length or an event's status does not hold."""
    magic, length, kind, count, division = struct.unpack(">4sIHHH", data[:14])
    if magic != b"MThd" or length != 6:
        raise ValueError("no header chunk")
    at, tracks = 14, []
    for _ in range(count):
        magic, length = struct.unpack(">4sI", data[at : at + 8])
        if magic != b"MTrk":
            raise ValueError("no track chunk")
        tracks.append(tuple(_events(data[at + 8 : at + 8 + length])))
        at += 8 + length
    if at != len(data):
        raise ValueError("the chunks do not fill the file")
    return File(kind, division, tuple(tracks))


def _events(chunk: bytes) -> list[Event]:
    events: list[Event] = []
    at = tick = status = 0
    while at < len(chunk):
        delta, at = quantity(chunk, at)
        tick += delta
        if chunk[at] == 0xFF:
            length, start = quantity(chunk, at + 2)
            events.append(Event(tick, chunk[at : at + 2] + chunk[start : start + length]))
            at, status = start + length, 0  # a meta event cancels running status
            continue
        if chunk[at] >= 0x80:
            status, at = chunk[at], at + 1
        if not status:
            raise ValueError("running status after a meta event")
        size = DATA_BYTES[status >> 4]
        events.append(Event(tick, bytes([status]) + chunk[at : at + size]))
        at += size
    return events
