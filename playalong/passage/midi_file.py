"""A MIDI file's bytes to what it says: who plays which key when, and meters, keys and tempi.

By mido, in ticks (Standard MIDI Files 1.0). PassageError for what is damaged.
"""

from __future__ import annotations

import io
from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass

import mido

from playalong.errors import short
from playalong.passage.midi_grid import Played
from playalong.passage.model import PassageError

MOST_BYTES = 384 * 1024  # an hour of a string quartet has two thirds of it
MOST_NOTES = 40_000
# General MIDI 1, programs counted from 0.
STRINGS = {40: "violin", 41: "viola", 42: "violoncello", 43: "contrabass"}


@dataclass(frozen=True)
class Track:
    """What one track plays on one channel."""

    channel: int  # from 0
    name: str
    program: int | None
    notes: tuple[Played, ...]

    @property
    def title(self) -> str:
        """Its name, and what plays it where that is a string instrument and not said."""
        plays = STRINGS.get(self.program or 0, "")
        return self.name if plays in self.name.lower() else f"{self.name} {plays}".strip()


@dataclass(frozen=True)
class MidiFile:
    """Changes stand by their tick."""

    ticks: int  # a quarter
    title: str  # of the first track without notes
    tracks: tuple[Track, ...]  # that have notes
    meters: Mapping[int, tuple[int, int]]
    keys: Mapping[int, str]  # `Am`
    tempi: Mapping[int, float]  # quarters a minute


def midi_file(data: bytes) -> MidiFile:
    if len(data) > MOST_BYTES:
        raise PassageError(f"the MIDI file has more than {MOST_BYTES >> 10} kB; export fewer parts")
    try:
        midi = mido.MidiFile(file=io.BytesIO(data), clip=True)
    except (OSError, EOFError, ValueError, LookupError, TypeError, mido.KeySignatureError) as error:
        why = f" ({short(str(error))})" if str(error) else ""
        raise PassageError(f"the MIDI file breaks off or is damaged{why}") from None
    if midi.type not in (0, 1):
        raise PassageError("the MIDI file is of type 2, one song after another; export type 0 or 1")
    if not 0 < midi.ticks_per_beat < 0x8000:
        raise PassageError("the MIDI file counts in film frames, not in notes")
    read = _Reading()
    for track in midi.tracks:
        read.track(track)
        if sum(len(each.notes) for each in read.tracks) > MOST_NOTES:
            raise PassageError(
                f"the MIDI file has more than {MOST_NOTES:,} notes; export fewer parts"
            )
    if not read.tracks:
        raise PassageError("the MIDI file holds no notes")
    return MidiFile(
        midi.ticks_per_beat, read.title, tuple(read.tracks), read.meters, read.keys, read.tempi
    )


class _Reading:
    """What has been read so far."""

    def __init__(self) -> None:
        self.title = ""
        self.tracks: list[Track] = []
        self.meters: dict[int, tuple[int, int]] = {}
        self.keys: dict[int, str] = {}
        self.tempi: dict[int, float] = {}

    def track(self, track: mido.MidiTrack) -> None:
        now, name = 0, ""
        sounding = defaultdict[tuple[int, int], list[int]](list)
        notes = defaultdict[int, list[Played]](list)  # by channel, as programs
        programs: dict[int, int] = {}
        for message in track:
            now += message.time
            match message.type:
                case "note_on" if message.velocity:
                    sounding[message.channel, message.note].append(now)
                case "note_on" | "note_off":
                    starts = sounding[message.channel, message.note]
                    if starts:
                        played = Played(starts.pop(0), now, message.note)
                        notes[message.channel].append(played)
                case "program_change":
                    programs.setdefault(message.channel, message.program)
                case "track_name":
                    name = name or short(" ".join(message.name.split()))
                case "time_signature" if message.numerator:
                    self.meters[now] = (message.numerator, message.denominator)
                case "key_signature":
                    self.keys[now] = message.key
                case "set_tempo" if message.tempo:
                    self.tempi[now] = 60_000_000 / message.tempo
        self.tracks += [
            Track(channel, name, programs.get(channel), tuple(played))
            for channel, played in sorted(notes.items())
        ]
        if not notes:
            self.title = self.title or name
