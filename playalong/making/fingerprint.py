"""Fingerprints: what a track is made from, so that a build can tell what need not be made again.

Everything that can change a byte of a track goes in; what only says which tracks there are (the
other keys, strings, tempi) or stands in a comment of the drill file does not.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable
from dataclasses import replace
from functools import cached_property

from playalong import __version__
from playalong.drill.model import Drill, SessionSettings, Tempo
from playalong.folder.files import sha256
from playalong.folder.manifest import Manifest
from playalong.making.plan import Options, RungPlan, TrackPlan


def digest(*parts: object) -> str:
    """A hash of the parts' representation, which is the same in every process."""
    return hashlib.sha256(repr(parts).encode()).hexdigest()


def bars_of(drill: Drill) -> str:
    """What is written in the bars and for whom, by which a renamed drill is known again."""
    return digest(drill.instrument, drill.pattern, drill.meter)


class Fingerprints:
    """Those of one drill and one set of options."""

    def __init__(self, drill: Drill, options: Options) -> None:
        self._drill, self._options = drill, options

    @cached_property
    def _unplaced(self) -> Drill:
        """The drill without where it was read from."""
        return replace(self._drill, file="", sha256="")

    @cached_property
    def _base(self) -> str:
        drill = replace(
            self._unplaced,
            keys=(),
            strings=(),
            stages=(),
            own_stages=(),
            tempo=Tempo(),
            session=SessionSettings(),
        )
        options = self._options
        how = (str(options.format), options.bitrate_kbps, options.stems, options.split)
        return digest(__version__, drill, how, sha256(options.bank))

    def rung(self, rung: RungPlan) -> str:
        """What the rung's gain comes from."""
        return digest(self._base, rung.key, rung.string, rung.bpm, rung.fullest)

    def track(self, rung: RungPlan, track: TrackPlan) -> str:
        return digest(self.rung(rung), track.stem, track.number, track.stage)

    def session(self, rungs: tuple[RungPlan, ...]) -> str:
        tracks = [self.track(rung, track) for rung in rungs for track in rung.tracks]
        return digest(tracks, self._drill.session, self._options.whole_ladder)

    def sheet(self, rungs: Iterable[RungPlan]) -> str:
        pairs = sorted({(str(rung.key), str(rung.string)) for rung in rungs})
        options = self._options
        return digest(__version__, self._unplaced, pairs, options.paper)

    def page(self, manifest: Manifest) -> str:
        shown = replace(manifest, drill_file="", drill_sha256="", sha256={})
        return digest(__version__, self._unplaced, shown.data(), self._options.one_file)
