"""Which tracks a drill asks for: every key, string, rung and stage, in the order of practice."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path, PurePosixPath

from playalong.drill.model import Drill
from playalong.drill.stage import Stage
from playalong.folder.names import (
    DEFAULT_AUDIO,
    SESSION,
    TrackFiles,
    key_folder,
    string_folder,
    track_name,
)
from playalong.music.key import Key
from playalong.performance.ladder import rungs
from playalong.performance.track_layout import TrackLayout, clock_of
from playalong.score.model import Score
from playalong.score.playable import playable_scores
from playalong.shipped import own_bank
from playalong.sound.audio import audio_format
from playalong.sound.midi import STEMS


@dataclass(frozen=True)
class Options:
    """What the person asks of a build, apart from the drill."""

    bank: Path = field(default_factory=own_bank)
    format: str = DEFAULT_AUDIO
    bitrate_kbps: int | None = None
    stems: bool = False
    split: bool = False  # guide in one ear, drone and click in the other
    skip_unplayable: bool = False
    sessions: bool = True
    whole_ladder: bool = False  # one session for the whole climb
    sheet: bool = True
    paper: str = "A4"
    page: bool = True
    one_file: bool = False  # the page holds the sound inside itself

    def __post_init__(self) -> None:
        audio_format(self.format)

    @property
    def ending(self) -> str:
        return audio_format(self.format).ending

    @property
    def channels(self) -> int:
        return 2 if self.split else 1


@dataclass(frozen=True)
class TrackPlan:
    number: int  # within its key and string
    stage: Stage
    stem: PurePosixPath  # path below OUT without its ending
    seconds: float

    def files(self, options: Options) -> TrackFiles:
        """The names of all that a build leaves of this track."""
        return TrackFiles.of(self.stem, options.ending, STEMS if options.stems else ())


@dataclass(frozen=True)
class RungPlan:
    """One tempo of one key and string: its stages share their gain, drone and click."""

    key: Key
    string: str | None
    bpm: int
    tracks: tuple[TrackPlan, ...]
    score: Score = field(compare=False, repr=False)  # the one of its key and string

    @property
    def folder(self) -> PurePosixPath:
        return PurePosixPath(key_folder(self.key), string_folder(self.string))

    def session_file(self, options: Options) -> str:
        """The session of this rung's key and string."""
        return str(self.folder / f"{SESSION}{options.ending}")

    @property
    def fullest(self) -> Stage:
        """The stage with the most sound in it: most guide, then drone, then click."""
        stages = (track.stage for track in self.tracks)
        return max(stages, key=lambda stage: (stage.fullness, stage.drone, stage.click))


@dataclass(frozen=True)
class Plan:
    scores: tuple[Score, ...]  # one for each key and string, in the order of practice
    rungs: tuple[RungPlan, ...]
    skipped: tuple[str, ...]  # keys and strings that cannot be played, in words
    left_out: tuple[str, ...]  # starting positions beyond the pupil's reach, in words
    warnings: tuple[str, ...]

    @property
    def tracks(self) -> tuple[TrackPlan, ...]:
        return tuple(track for rung in self.rungs for track in rung.tracks)


def plan_build(drill: Drill, options: Options) -> Plan:
    """Every track in order. Raises DrillError listing the keys and strings that do not work."""
    playable = playable_scores(drill, skip_unplayable=options.skip_unplayable)
    scores = playable.scores
    return Plan(
        scores=scores,
        rungs=tuple(rung for score in scores for rung in _rung_plans(score)),
        skipped=playable.skipped,
        left_out=tuple(f"{score.name}: {told}" for score in scores for told in score.left_out),
        warnings=tuple(f"{score.name}: {told}" for score in scores for told in score.warnings),
    )


def track_seconds(score: Score, bpm: int, stage: Stage, stands: slice = slice(None)) -> float:
    """How long a stage of a score lasts, or some starting positions of it."""
    clock = clock_of(score, bpm)
    passes = stage.passes(score.drill.passes)
    return clock.seconds(TrackLayout(score, clock, passes, score.climb[stands]).end)


def _rung_plans(score: Score) -> Iterator[RungPlan]:
    drill, key, string = score.drill, score.key, score.string
    tempi = rungs(drill.tempo)
    total = len(tempi) * len(drill.stages)
    folder = PurePosixPath(key_folder(key), string_folder(string))
    number = 0
    for bpm in tempi:
        tracks = []
        for stage in drill.stages:
            number += 1
            stem = folder / track_name(number, total, bpm, stage.name)
            tracks.append(TrackPlan(number, stage, stem, track_seconds(score, bpm, stage)))
        yield RungPlan(key, string, bpm, tuple(tracks), score)
