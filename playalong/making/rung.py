"""Making tracks of one rung: MIDI, timeline, audio and stems, and what the manifest says."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from io import BytesIO
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from playalong.drill.model import Drill
from playalong.folder.files import Settle, in_its_place, make_folder, write_bytes, write_text
from playalong.folder.manifest import TrackEntry
from playalong.making.plan import Options, RungPlan, TrackPlan
from playalong.music.pitch import pretty
from playalong.performance.clock import SAMPLE_RATE_HZ
from playalong.performance.perform import perform
from playalong.performance.performance import Performance
from playalong.performance.timing import timeline_of
from playalong.sound.audio import write_audio
from playalong.sound.mix import Blocks, mix
from playalong.sound.stems import RungSound, together
from playalong.sound.tags import Tags

Watch = Callable[[float], None]  # told of every second of sound that is done


@dataclass(frozen=True)
class RungMade:
    entries: tuple[TrackEntry, ...]
    gain: float


def make_rung(
    drill: Drill,
    rung: RungPlan,
    wanted: Sequence[TrackPlan],
    options: Options,
    out: Path,
    watch: Watch,
    gain: float | None = None,
    settle: Settle = in_its_place,
) -> RungMade:
    """Write the files of some of a rung's tracks below `out`; each is whole or absent.

    `gain` is the rung's, where an earlier build measured it.
    """
    performances = {
        track.stage.name: perform(rung.score, rung.bpm, track.stage) for track in rung.tracks
    }
    make_folder(out / rung.folder)
    with RungSound(options.bank) as sound:
        if gain is None:
            gain = sound.gain(performances[rung.fullest.name])
        maker = _Maker(drill, rung, options, out, sound, gain, watch, settle)
        entries = [maker.make(track, performances[track.stage.name]) for track in wanted]
    return RungMade(tuple(entries), gain)


@dataclass(frozen=True)
class _Maker:
    drill: Drill
    rung: RungPlan
    options: Options
    out: Path
    sound: RungSound
    gain: float
    watch: Watch
    settle: Settle

    def make(self, track: TrackPlan, performance: Performance) -> TrackEntry:
        files = track.files(self.options)
        buffer = BytesIO()
        self.sound.track(performance).midi.save(file=buffer)
        timeline = timeline_of(performance).to_json()
        hashes = {
            files.midi: write_bytes(self.out / files.midi, buffer.getvalue(), self.settle),
            files.timeline: write_text(self.out / files.timeline, timeline, self.settle),
        }
        stems = self.sound.stems(performance)
        blocks = together(stems, self.gain, in_two_ears=self.options.split)
        blocks = watched(blocks, self.watch)
        hashes[files.audio] = self.write(files.audio, blocks, self.options.channels, track)
        for name, file in files.stems.items():
            stem = mix([self.sound.stem(performance, name)], self.gain)
            hashes[file] = self.write(file, stem, 1, track, name)
        return TrackEntry(
            number=track.number,
            key=self.rung.key.name,
            string=self.rung.string,
            bpm=self.rung.bpm,
            stage=track.stage.name,
            seconds=performance.seconds,
            audio=files.audio,
            midi=files.midi,
            timeline=files.timeline,
            stems=files.stems,
            sha256={file: hashes[file] for file in files.names},
        )

    def write(
        self, name: str, blocks: Blocks, channels: int, track: TrackPlan, part: str = ""
    ) -> str:
        return write_audio(
            self.out / name,
            blocks,
            format=self.options.format,
            channels=channels,
            tags=track_tags(self.drill, self.rung, track, part),
            bitrate_kbps=self.options.bitrate_kbps,
            settle=self.settle,
        )


def track_tags(drill: Drill, rung: RungPlan, track: TrackPlan, part: str = "") -> Tags:
    """What an audio file says about itself: `60 · listen · F major · D string`.

    It does not say of how many, so that a longer ladder leaves the tracks below it as they are.
    """
    key = pretty(rung.key.name)
    place = [key, f"{rung.string} string"] if rung.string else [key]
    named = " · ".join([str(rung.bpm), track.stage.name, *place, *([part] if part else [])])
    return Tags(
        title=named,
        album=drill.title,
        key=pretty(drill.instrument.transposition.sounding_key(rung.key).name),
        string=rung.string or "",
        tempo_bpm=rung.bpm,
        stage=track.stage.name,
        track_number=track.number,
    )


def watched(blocks: Blocks, watch: Watch) -> Iterator[NDArray[np.float32]]:
    """The blocks as they are, telling `watch` of each once it has been taken."""
    for block in blocks:
        yield block
        watch(len(block) / SAMPLE_RATE_HZ)
