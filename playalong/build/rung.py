"""Making one rung: every stage's MIDI, timeline, audio and stems, and what the manifest says."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from io import BytesIO
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from playalong.build.plan import Options, RungPlan, TrackPlan, scores_of
from playalong.build.sound import TrackSound, fullest, gain_for
from playalong.drill.model import Drill
from playalong.music.pitch import pretty
from playalong.output.audio import write_audio
from playalong.output.files import make_folder, sha256, write_bytes, write_text
from playalong.output.manifest import TrackEntry
from playalong.output.tags import Tags
from playalong.output.timeline import timeline_json
from playalong.track.clock import SAMPLE_RATE_HZ
from playalong.track.midi import STEMS
from playalong.track.mix import Blocks, mix
from playalong.track.perform import perform
from playalong.track.performance import Performance
from playalong.track.spool import Spool

Watch = Callable[[float], None]  # told of every second of sound that is done


@dataclass(frozen=True)
class RungMade:
    entries: tuple[TrackEntry, ...]
    gain: float


def make_rung(drill: Drill, rung: RungPlan, options: Options, out: Path, watch: Watch) -> RungMade:
    """Write every file of a rung below `out`; each is whole or absent."""
    scores = scores_of(drill, rung, options)
    performances = [
        perform(scores[track.stage.passes(drill.passes)], rung.bpm, track.stage)
        for track in rung.tracks
    ]
    make_folder(out / rung.folder)
    loudest = fullest(performances)
    spool = Spool(TrackSound(loudest, options.bank).mixed(1.0, in_two_ears=False))
    try:
        gain = gain_for(spool.blocks())
        entries = []
        for track, performance in zip(rung.tracks, performances, strict=True):
            ready = spool if performance is loudest else None
            maker = _TrackMaker(drill, rung, track, performance, options, out, gain)
            entries.append(maker.make(ready, watch))
    finally:
        spool.close()
    return RungMade(tuple(entries), gain)


@dataclass(frozen=True)
class _TrackMaker:
    drill: Drill
    rung: RungPlan
    track: TrackPlan
    performance: Performance
    options: Options
    out: Path
    gain: float

    def make(self, ready: Spool | None, watch: Watch) -> TrackEntry:
        sound = TrackSound(self.performance, self.options.bank)
        midi, timeline = self.name(".mid"), self.name(".timeline.json")
        audio = self.name(self.options.extension)
        buffer = BytesIO()
        sound.midi.save(file=buffer)
        write_bytes(self.out / midi, buffer.getvalue())
        write_text(self.out / timeline, timeline_json(self.performance))
        if ready and not self.options.split:
            blocks = mix([ready.blocks()], self.gain)
        else:
            blocks = sound.mixed(self.gain, in_two_ears=self.options.split)
        self.write(audio, _watched(blocks, watch), self.options.channels)
        stems = {}
        if self.options.stems:
            for name in STEMS:
                stems[name] = self.name(f".{name}{self.options.extension}")
                self.write(stems[name], mix([sound.stem(name)], self.gain), 1, part=name)
        files = (audio, midi, timeline, *stems.values())
        return TrackEntry(
            number=self.track.number,
            key=self.rung.key.name,
            string=self.rung.string,
            bpm=self.rung.bpm,
            stage=self.track.stage.name,
            seconds=self.performance.seconds,
            audio=audio,
            midi=midi,
            timeline=timeline,
            stems=stems,
            sha256={file: sha256(self.out / file) for file in files},
        )

    def name(self, ending: str) -> str:
        return f"{self.track.stem}{ending}"

    def write(self, name: str, blocks: Blocks, channels: int, part: str = "") -> None:
        write_audio(
            self.out / name,
            blocks,
            format=self.options.format,
            channels=channels,
            tags=track_tags(self.drill, self.rung, self.track, part),
            bitrate_kbps=self.options.bitrate_kbps,
        )


def track_tags(drill: Drill, rung: RungPlan, track: TrackPlan, part: str = "") -> Tags:
    """What an audio file says about itself: `60 · listen · F major · D string`."""
    key = pretty(rung.key.name)
    place = [key, f"{rung.string} string"] if rung.string else [key]
    named = " · ".join([str(rung.bpm), track.stage.name, *place, *([part] if part else [])])
    return Tags(
        title=named,
        album=drill.title,
        key=key,
        string=rung.string or "",
        tempo_bpm=rung.bpm,
        stage=track.stage.name,
        track_number=track.number,
        track_total=rung.total,
    )


def _watched(blocks: Blocks, watch: Watch) -> Iterator[NDArray[np.float32]]:
    for block in blocks:
        yield block
        watch(len(block) / SAMPLE_RATE_HZ)
