"""The file of a session: its scenes in a row.

An MP3 is set together from the frames of its tracks, so that nothing is encoded twice: only taps
and parts that are less than a track are encoded for it. Every other format is encoded anew.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import accumulate, chain, repeat
from pathlib import Path
from tempfile import TemporaryDirectory

import mido
import numpy as np
from numpy.typing import NDArray

from playalong.drill.model import Drill
from playalong.folder.files import Settle, in_its_place, write_pieces
from playalong.folder.manifest import SessionEntry
from playalong.folder.names import AudioFormat
from playalong.making.plan import Options, RungPlan
from playalong.making.rung import Watch, watched
from playalong.making.session import TAP_QUARTERS, Scene, scenes, session_parts
from playalong.music.pitch import pretty
from playalong.performance.clock import BLOCK_FRAMES, SAMPLE_RATE_HZ
from playalong.sound.audio import write_audio
from playalong.sound.balance import balanced
from playalong.sound.midi import CLICK_CHANNEL
from playalong.sound.mp3_frames import FRAME_SAMPLES, Row, Run
from playalong.sound.stems import TrackSound
from playalong.sound.tags import Tags

TAP_KEY = 64  # low tap
SILENCE_BLOCKS = 1024
UNTAGGED = Tags(title="")
OUTLASTING_BLOCKS = 2 * FRAME_SAMPLES // BLOCK_FRAMES  # frames outlast their sound by two at most


def make_session(
    drill: Drill,
    rungs: Sequence[RungPlan],
    gains: Mapping[RungPlan, float],
    options: Options,
    out: Path,
    watch: Watch,
    settle: Settle,
    changed: Mapping[str, str],
) -> SessionEntry:
    """Write the session of one key and string below `out`, and say what is where in it.

    Its tracks stand below `out` too; `changed` says where those stand whose place is taken.
    """
    listed = list(scenes(drill, list(session_parts(drill, rungs, gains, options))))
    name = rungs[0].session_file(options)
    maker = _Maker(listed, options, out, watch, settle, changed)
    write = maker.from_frames if options.format == AudioFormat.MP3 else maker.from_sound
    written = write(out / name, _tags(drill, rungs))
    return SessionEntry(
        key=rungs[0].key.name,
        string=rungs[0].string,
        seconds=written.samples / SAMPLE_RATE_HZ,
        audio=name,
        parts=tuple(
            (start / SAMPLE_RATE_HZ, scene.part.track.number)
            for start, scene in written.scenes
            if scene.part and not scene.taps
        ),
        sha256={name: written.sha},
    )


Placed = Sequence[tuple[int, Scene]]  # scenes, each with the sample where it begins


@dataclass(frozen=True)
class _Written:
    sha: str
    scenes: Placed
    samples: int


@dataclass(frozen=True)
class _Maker:
    listed: Sequence[Scene]
    options: Options
    out: Path
    watch: Watch
    settle: Settle
    changed: Mapping[str, str]

    @property
    def placed(self) -> Placed:
        ends = accumulate(BLOCK_FRAMES * scene.blocks for scene in self.listed)
        return list(zip(chain([0], ends), self.listed, strict=False))

    def from_sound(self, path: Path, tags: Tags) -> _Written:
        sound = chain.from_iterable(_sound(scene, self.options) for scene in self.listed)
        sha = self.encode(path, sound, tags, self.settle)
        return _Written(sha, self.placed, sum(BLOCK_FRAMES * s.blocks for s in self.listed))

    def from_frames(self, path: Path, tags: Tags) -> _Written:
        heard = [(at, scene) for at, scene in self.placed if scene.part]  # rests fill themselves
        with TemporaryDirectory() as folder:
            runs = self.runs([scene for _, scene in heard], Path(folder))
            row = Row([(at, run) for (at, _), run in zip(heard, runs, strict=True)])
            sha = write_pieces(path, self.heeded(row.pieces(tags)), self.settle)
        starts = zip(row.starts, (scene for _, scene in heard), strict=True)
        return _Written(sha, list(starts), row.samples)

    def runs(self, heard: Sequence[Scene], folder: Path) -> Iterator[Run]:
        """The frames of each scene: of a track's own file, or encoded into `folder`."""
        taps: dict[tuple[int, float], Run] = {}
        for number, scene in enumerate(heard):
            assert scene.part  # rests are not heard
            own = folder / f"{number}.mp3"
            if scene.taps:
                kind = (scene.taps, scene.part.gain)
                if kind not in taps:
                    shorter = replace(scene, blocks=scene.blocks - OUTLASTING_BLOCKS)
                    self.encode(own, _sound(shorter, self.options))
                    taps[kind] = Run.of(own)
                yield taps[kind]
            elif scene.part.is_whole:
                name = scene.part.track.files(self.options).audio
                yield Run.of(self.out / self.changed.get(name, name))
            else:
                self.encode(own, _sound(scene, self.options))
                yield Run.of(own)

    def encode(
        self,
        path: Path,
        sound: Iterator[NDArray[np.float32]],
        tags: Tags = UNTAGGED,
        settle: Settle = in_its_place,
    ) -> str:
        return write_audio(
            path,
            watched(sound, self.watch),
            format=self.options.format,
            channels=self.options.channels,
            tags=tags,
            bitrate_kbps=self.options.bitrate_kbps,
            settle=settle,
        )

    def heeded(self, pieces: Iterator[bytes]) -> Iterator[bytes]:
        """The pieces as they are; no sound is made, but a build may be given up here too."""
        for piece in pieces:
            yield piece
            self.watch(0)


def _sound(scene: Scene, options: Options) -> Iterator[NDArray[np.float32]]:
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
