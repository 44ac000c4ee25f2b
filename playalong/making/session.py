"""Sessions: one hands-free file of a rung's stages, or of the whole climb, with rests between.

A track that would last longer than the player may play at a stretch is given in parts, each
some starting positions of the climb with a count-in of its own.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import repeat
from math import ceil
from pathlib import Path

import mido
import numpy as np
from numpy.typing import NDArray

from playalong.drill.model import Drill
from playalong.folder.files import Settle, in_its_place
from playalong.folder.manifest import SessionEntry
from playalong.making.plan import Options, RungPlan, TrackPlan, track_seconds
from playalong.making.rung import Watch, watched
from playalong.music.pitch import pretty
from playalong.performance.clock import BLOCK_FRAMES, SAMPLE_RATE_HZ, block_seconds
from playalong.performance.perform import perform
from playalong.performance.performance import Performance
from playalong.sound.audio import write_audio
from playalong.sound.balance import balanced
from playalong.sound.midi import CLICK_CHANNEL
from playalong.sound.stems import TrackSound
from playalong.sound.tags import Tags

TAP_KEY = 64  # low tap
MOST_TAPS = 4
TAP_QUARTERS = 1  # at 120 a minute, the tempo of a file that states none
TAP_TAIL_SECONDS = 1.5
SILENCE_BLOCKS = 1024


@dataclass(frozen=True)
class Stretch:
    """A track, or some starting positions of one, that is played without a rest."""

    rung: RungPlan
    track: TrackPlan
    stands: slice = field(default_factory=lambda: slice(None))  # of the climb
    taps: int = 0  # before it

    @property
    def is_whole(self) -> bool:
        return self.stands == slice(None)

    def performance(self) -> Performance:
        return perform(self.rung.score, self.rung.bpm, self.track.stage, stands=self.stands)


@dataclass(frozen=True)
class Part:
    """A stretch as it sounds."""

    track: TrackPlan
    performance: Performance
    gain: float
    taps: int


@dataclass(frozen=True)
class Scene:
    """A stretch of blocks in the file: taps, sound or rest."""

    blocks: int
    part: Part | None = None
    taps: int = 0


def session_parts(
    drill: Drill, rungs: Sequence[RungPlan], gains: Mapping[RungPlan, float], options: Options
) -> Iterator[Part]:
    """The parts of a session in order; `gains` are what the rungs were made with."""
    for each in stretches(drill, rungs, options):
        yield Part(each.track, each.performance(), gains[each.rung], each.taps)


def stretches(drill: Drill, rungs: Sequence[RungPlan], options: Options) -> Iterator[Stretch]:
    """What a session plays, in order, none longer than a player may play if that can be."""
    chosen = list(rungs) if options.whole_ladder else list(rungs[:1])
    for rung in chosen:
        for number, track in enumerate(rung.tracks):
            yield from _in_parts(drill, rung, track, number)
    if drill.session.home:
        yield from _in_parts(drill, chosen[0], chosen[0].tracks[0], 0)


def _in_parts(drill: Drill, rung: RungPlan, track: TrackPlan, number: int) -> Iterator[Stretch]:
    taps = min(number + 1, MOST_TAPS) if drill.session.taps else 0
    stands = len(rung.score.climb)
    parts = [slice(None)]
    for count in range(2, stands + 1):
        lengths = (track_seconds(rung.score, rung.bpm, track.stage, part) for part in parts)
        if max(lengths) <= 60 * drill.session.play:
            break
        size = ceil(stands / count)  # parts are as even as whole starting positions make them
        parts = [slice(at, at + size) for at in range(0, stands, size)]
    for part in parts:
        yield Stretch(rung, track, part, taps)


def scenes(drill: Drill, parts: Sequence[Part]) -> Iterator[Scene]:
    """What follows what: taps and sound of each part, with rests between."""
    rest = round(60 * drill.session.rest * SAMPLE_RATE_HZ / BLOCK_FRAMES)
    for number, part in enumerate(parts):
        if number and rest:
            yield Scene(rest)
        if part.taps:
            seconds = part.taps * TAP_QUARTERS / 2 + TAP_TAIL_SECONDS
            yield Scene(round(seconds * SAMPLE_RATE_HZ / BLOCK_FRAMES), taps=part.taps, part=part)
        yield Scene(part.performance.blocks, part=part)


def make_session(
    drill: Drill,
    rungs: Sequence[RungPlan],
    gains: Mapping[RungPlan, float],
    options: Options,
    out: Path,
    watch: Watch,
    settle: Settle = in_its_place,
) -> SessionEntry:
    """Write the session of one key and string below `out`, and say what is where in it."""
    parts = list(session_parts(drill, rungs, gains, options))
    listed = list(scenes(drill, parts))
    name = rungs[0].session_file(options)
    sha = write_audio(
        out / name,
        watched(_sound(listed, options), watch),
        format=options.format,
        channels=options.channels,
        tags=_tags(drill, rungs),
        bitrate_kbps=options.bitrate_kbps,
        settle=settle,
    )
    starts, at = [], 0
    for scene in listed:
        if scene.part and not scene.taps:
            starts.append((block_seconds(at), scene.part.track.number))
        at += scene.blocks
    return SessionEntry(
        key=rungs[0].key.name,
        string=rungs[0].string,
        seconds=block_seconds(at),
        audio=name,
        parts=tuple(starts),
        sha256={name: sha},
    )


def _sound(listed: Sequence[Scene], options: Options) -> Iterator[NDArray[np.float32]]:
    for scene in listed:
        if scene.taps and scene.part:
            for block in _taps(scene, options.bank):
                mono = block * np.float32(scene.part.gain)
                yield np.stack([mono, mono], axis=1) if options.split else mono
        elif scene.part:
            sound = TrackSound(scene.part.performance, options.bank)
            yield from sound.mixed(scene.part.gain, in_two_ears=options.split)
        else:
            yield from _silence(scene.blocks, options.channels)


def _silence(blocks: int, channels: int) -> Iterator[NDArray[np.float32]]:
    shape = (
        (SILENCE_BLOCKS * BLOCK_FRAMES,) if channels == 1 else (SILENCE_BLOCKS * BLOCK_FRAMES, 2)
    )
    silence = np.zeros(shape, np.float32)
    whole, left = divmod(blocks, SILENCE_BLOCKS)
    yield from repeat(silence, whole)
    if left:
        yield silence[: left * BLOCK_FRAMES]


def _taps(scene: Scene, bank: Path) -> Iterator[NDArray[np.float32]]:
    file = mido.MidiFile(ticks_per_beat=960)
    track = mido.MidiTrack()
    for _ in range(scene.taps):
        track.append(mido.Message("note_on", channel=CLICK_CHANNEL, note=TAP_KEY, velocity=100))
        track.append(
            mido.Message("note_off", channel=CLICK_CHANNEL, note=TAP_KEY, time=960 * TAP_QUARTERS)
        )
    file.tracks.append(track)
    return balanced(file, bank, frozenset({CLICK_CHANNEL}), scene.blocks)


def _tags(drill: Drill, rungs: Sequence[RungPlan]) -> Tags:
    key = pretty(rungs[0].key.name)
    string = rungs[0].string
    where = f"{key} · {string} string" if string else key
    heard = pretty(drill.instrument.transposition.sounding_key(rungs[0].key).name)
    return Tags(title=f"session · {where}", album=drill.title, key=heard, string=string or "")
