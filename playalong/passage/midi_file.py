"""A MIDI file's bytes to what it says: who plays which key when, and meters, keys and tempi.

By mido, in ticks (Standard MIDI Files 1.0). PassageError for what is damaged.
"""

from __future__ import annotations

import io
from collections import defaultdict
from dataclasses import dataclass, field

import mido

from playalong.errors import short
from playalong.passage.midi_grid import Played
from playalong.passage.model import PassageError

MOST_BYTES = 512 * 1024  # an hour of a string quartet has half of it
MOST_NOTES = 40_000
# General MIDI 1, programs counted from 0.
STRINGS = {40: "violin", 41: "viola", 42: "violoncello", 43: "contrabass"}


@dataclass
class Track:
    """What one track plays on one channel."""

    channel: int  # from 0
    name: str = ""
    program: int | None = None
    notes: list[Played] = field(default_factory=list)

    @property
    def title(self) -> str:
        """Its name, and what plays it where that is a string instrument and not said."""
        plays = STRINGS.get(self.program or 0, "")
        return self.name if plays in self.name.lower() else f"{self.name} {plays}".strip()


@dataclass
class MidiFile:
    """Changes stand by their tick."""

    ticks: int  # a quarter
    title: str = ""
    tracks: list[Track] = field(default_factory=list)  # that have notes
    meters: dict[int, tuple[int, int]] = field(default_factory=dict)
    keys: dict[int, str] = field(default_factory=dict)  # `Am`
    tempi: dict[int, float] = field(default_factory=dict)  # quarters a minute


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
    found = MidiFile(midi.ticks_per_beat)
    for track in midi.tracks:
        _read_track(found, track)
        if sum(len(each.notes) for each in found.tracks) > MOST_NOTES:
            raise PassageError(
                f"the MIDI file has more than {MOST_NOTES:,} notes; export fewer parts"
            )
    if not found.tracks:
        raise PassageError("the MIDI file holds no notes")
    return found


def _read_track(file: MidiFile, track: mido.MidiTrack) -> None:
    now, name = 0, ""
    sounding = defaultdict[tuple[int, int], list[int]](list)
    tracks: dict[int, Track] = {}
    for message in track:
        now += message.time
        match message.type:
            case "note_on" if message.velocity:
                sounding[message.channel, message.note].append(now)
            case "note_on" | "note_off":
                starts = sounding[message.channel, message.note]
                if starts:
                    played = tracks.setdefault(message.channel, Track(message.channel))
                    played.notes.append(Played(starts.pop(0), now, message.note))
            case "program_change":
                played = tracks.setdefault(message.channel, Track(message.channel))
                played.program = message.program if played.program is None else played.program
            case "track_name":
                name = name or short(" ".join(message.name.split()))
            case "time_signature" if message.numerator:
                file.meters[now] = (message.numerator, message.denominator)
            case "key_signature":
                file.keys[now] = message.key
            case "set_tempo" if message.tempo:
                file.tempi[now] = 60_000_000 / message.tempo
    with_notes = [played for _, played in sorted(tracks.items()) if played.notes]
    for played in with_notes:
        played.name = name
    file.tracks += with_notes
    if not with_notes:
        file.title = file.title or name
