"""make: from a drill to a folder of tracks, with a manifest of all that was made.

What an earlier build made from the same things, and what still stands as it left it, is kept. A
build that was stopped goes on where it stood.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from concurrent.futures import Future, as_completed
from dataclasses import dataclass, field
from itertools import groupby
from pathlib import Path

from playalong.drill.model import Drill
from playalong.errors import PlayalongError
from playalong.folder.files import remove_parts, sha256_of, write_text
from playalong.folder.made import Cleared, Made
from playalong.folder.manifest import Manifest, SessionEntry, TrackEntry
from playalong.folder.names import (
    MANIFEST_FILE,
    PAGE_FILE,
    PAGE_FOLDER,
    READ_ME_FILE,
    SESSION,
    page_sound,
    played_by_page,
)
from playalong.folder.record import Record, opened
from playalong.making.fingerprint import Fingerprints, bars_of
from playalong.making.paper import PaperMade, make_page, make_sheet
from playalong.making.plan import Options, Plan, RungPlan, TrackPlan, plan_build
from playalong.making.read_me import read_me_first
from playalong.making.rung import RungMade, Watch, make_rung
from playalong.making.session_file import make_session
from playalong.making.standing import tells_of_paper, tells_of_session, tells_of_track
from playalong.making.workers import Workers, workers
from playalong.page.sounds import held_sounds, write_beside
from playalong.sound.bankload import check_bank

Started = Callable[[int, float], None]  # told how many tracks will be made, and their seconds


@dataclass(frozen=True)
class Built:
    plan: Plan
    manifest: Manifest
    out: Path
    fresh: int  # tracks, sessions, sheet and page made; the others stood already
    cleared: Cleared  # files of earlier builds that this one did not want
    changed: Mapping[str, str]  # files that somebody has changed: where the new ones stand
    remarks: tuple[str, ...]  # on the folder, in words


def make(
    drill: Drill,
    out: Path | str,
    options: Options | None = None,
    *,
    jobs: int | None = None,
    verify: bool = False,
    narrowed: bool = False,
    started: Started = lambda tracks, seconds: None,
    watch: Watch = lambda seconds: None,
) -> Built:
    """Make every track of a drill below `out` that does not stand there already.

    `verify` reads every kept file again instead of trusting its size and time. `narrowed` says
    that this is only a part of what the drill asks for: the rest stays. `watch` is told
    every second of sound as it is done. Raises PlayalongError for a drill that cannot be played,
    a bank that cannot be used, a folder that is busy, another drill's or holds a stranger's
    file, or a place that cannot be written to.
    """
    out, options = Path(out), options or Options()
    if jobs is not None and jobs < 1:
        raise PlayalongError(f"jobs = {jobs}: at least one worker is needed")
    plan = plan_build(drill, options)
    check_bank(options.bank)
    with opened(out) as record:
        build = _Build(drill, plan, options, out, record, verify, narrowed)
        record.belongs_to(drill.title, Path(drill.file).name, bars_of(drill))
        build.claim()
        build.sheet()
        with workers(jobs) as pool:
            build.tracks(pool, started, watch)
            build.sessions(pool, watch)
        build.page()
        return build.finished()


@dataclass
class _Build:
    drill: Drill
    plan: Plan
    options: Options
    out: Path
    record: Record
    verify: bool
    narrowed: bool
    done: dict[str, Made] = field(default_factory=dict)  # by name in the record
    gains: dict[RungPlan, float] = field(default_factory=dict)
    fresh: int = 0

    def __post_init__(self) -> None:
        self.fingerprints = Fingerprints(self.drill, self.options)

    @property
    def sets(self) -> list[tuple[RungPlan, ...]]:
        """The rungs of each key and string together."""
        grouped = groupby(self.plan.rungs, key=lambda rung: rung.folder)
        return [tuple(rungs) for _, rungs in grouped]

    def claim(self) -> None:
        """All names at once, so that a stranger's file is found before anything is made."""
        names = [name for track in self.plan.tracks for name in track.files(self.options).names]
        if self.options.sessions:
            names += [rungs[0].session_file(self.options) for rungs in self.sets]
        if self.options.page:
            names.append(PAGE_FILE)
            if not self.options.one_file:
                files = (track.files(self.options) for track in self.plan.tracks)
                played = (name for f in files for name in played_by_page(f.audio, f.stems))
                names += map(page_sound, played)
        self.record.claim([*names, READ_ME_FILE, MANIFEST_FILE])
        remove_parts(self.out, names)

    def tracks(self, pool: Workers, started: Started, watch: Watch) -> None:
        missing = {rung: self.missing(rung) for rung in self.plan.rungs}
        wanted = [track for tracks in missing.values() for track in tracks]
        started(len(wanted), sum(track.seconds for track in wanted))
        submitted = {
            pool.submit(
                make_rung,
                self.drill,
                rung,
                tracks,
                self.options,
                self.out,
                pool.heeding(watch),
                self.gains.get(rung),
                self.record.settle,
            ): rung
            for rung, tracks in missing.items()
            if tracks
        }
        for future in as_completed(submitted):
            self.take_rung(submitted[future], future.result())

    def missing(self, rung: RungPlan) -> list[TrackPlan]:
        """The tracks of a rung that do not stand; the others are kept."""
        missing = []
        for track in rung.tracks:
            name, fingerprint = str(track.stem), self.fingerprints.track(rung, track)
            kept = self.record.kept(name, fingerprint, verify=self.verify)
            if kept and tells_of_track(kept, rung, track, self.options):
                self.done[name] = kept
                self.gains[rung] = kept.entry["gain"]
            else:
                missing.append(track)
        return missing

    def take_rung(self, rung: RungPlan, made: RungMade) -> None:
        by_number = {track.number: track for track in rung.tracks}
        self.gains[rung] = made.gain
        for entry in made.entries:
            track = by_number[entry.number]
            fingerprint = self.fingerprints.track(rung, track)
            data = {**entry.data(), "gain": made.gain}
            self.take(str(track.stem), fingerprint, entry.sha256, data)

    def take(
        self, name: str, fingerprint: str, hashes: Iterable[str], data: Mapping[str, object]
    ) -> None:
        self.done[name] = Made(fingerprint, self.record.states(hashes), data)
        self.record.add(name, self.done[name])
        self.fresh += 1

    def sessions(self, pool: Workers, watch: Watch) -> None:
        if not self.options.sessions:
            return
        submitted: dict[Future[SessionEntry], tuple[RungPlan, ...]] = {}
        for rungs in self.sets:
            name, fingerprint = self.session_name(rungs), self.fingerprints.session(rungs)
            kept = self.record.kept(name, fingerprint, verify=self.verify)
            if kept and tells_of_session(kept, rungs[0], self.options):
                self.done[name] = kept
                continue
            heed = pool.heeding(lambda seconds: None)
            job = pool.submit(
                make_session,
                self.drill,
                rungs,
                self.gains,
                self.options,
                self.out,
                heed,
                self.record.settle,
                self.record.changed,
            )
            submitted[job] = rungs
        for future in as_completed(submitted):
            rungs, entry = submitted[future], future.result()
            fingerprint = self.fingerprints.session(rungs)
            self.take(self.session_name(rungs), fingerprint, entry.sha256, entry.data())

    def sheet(self) -> None:
        """First of all, since it finds a note that no sign can write."""
        if self.options.sheet:
            fingerprint = self.fingerprints.sheet(self.plan.rungs)
            self.keep_or(
                "sheet",
                fingerprint,
                lambda: make_sheet(
                    self.drill, self.plan.scores, self.options, self.out, self.record
                ),
            )

    def page(self) -> None:
        """Last, since it shows all that the manifest lists."""
        if self.options.page:
            manifest = self.manifest()
            if not self.options.one_file:
                self.page_sounds(manifest)
            self.keep_or(
                "page",
                self.fingerprints.page(manifest),
                lambda: make_page(
                    self.drill, self.sets, manifest, self.options, self.out, self.record.settle
                ),
            )

    def page_sounds(self, manifest: Manifest) -> None:
        """Each sound once more in the form that a page can read, made from the sound alone."""
        hashes = manifest.hashes
        for name in held_sounds(manifest):
            file, sha = page_sound(name), hashes[name]
            kept = self.record.kept(file, sha, verify=self.verify)
            if not kept or kept.files.keys() != {file}:
                source = self.out / self.record.changed.get(name, name)
                written = write_beside(self.out, name, source, self.record.settle)
                kept = Made(sha, self.record.states([file]), {"sha256": {file: written}})
                self.record.add(file, kept)
            self.done[file] = kept

    def keep_or(self, name: str, fingerprint: str, make: Callable[[], PaperMade]) -> None:
        kept = self.record.kept(name, fingerprint, verify=self.verify)
        if kept and tells_of_paper(kept):
            self.done[name] = kept
        else:
            made = make()
            self.take(name, fingerprint, made.sha256, made.data())

    @staticmethod
    def session_name(rungs: tuple[RungPlan, ...]) -> str:
        return str(rungs[0].folder / SESSION)

    def finished(self) -> Built:
        """Write what tells of the tracks, and take away what is no longer wanted."""
        manifest = self.manifest()
        self.write_if_new(READ_ME_FILE, read_me_first(self.drill, self.plan.scores))
        self.write_if_new(MANIFEST_FILE, manifest.json())
        standing, cleared = self.done, Cleared()
        wanted = {file for made in self.done.values() for file in made.files}
        if self.narrowed:
            standing = {**self.record.made, **self.done}
        else:
            cleared = self.record.clear({READ_ME_FILE, MANIFEST_FILE, *wanted})
        self.record.close(standing, set(cleared.removed))
        changed = dict(sorted(self.record.changed.items()))
        remarks = tuple(self.record.remarks)
        return Built(self.plan, manifest, self.out, self.fresh, cleared, changed, remarks)

    def manifest(self) -> Manifest:
        tracks = [self.done[str(track.stem)].entry for track in self.plan.tracks]
        names = [self.session_name(rungs) for rungs in self.sets] if self.options.sessions else []
        papers = [self.done[name] for name in ("sheet", "page") if name in self.done]
        carried = [made for name, made in self.done.items() if name.startswith(f"{PAGE_FOLDER}/")]
        hashes = {READ_ME_FILE: sha256_of(read_me_first(self.drill, self.plan.scores))}
        return Manifest(
            title=self.drill.title,
            drill_file=Path(self.drill.file).name,
            drill_sha256=self.drill.sha256,
            tracks=tuple(TrackEntry.of(entry) for entry in tracks),
            sessions=tuple(SessionEntry.of(self.done[name].entry) for name in names),
            left_out=(*self.plan.skipped, *self.plan.left_out),
            sheet={name: told for paper in papers for name, told in paper.entry["told"].items()},
            sha256={
                name: sha
                for each in (hashes, *(made.sha256 for made in (*papers, *carried)))
                for name, sha in each.items()
            },
        )

    def write_if_new(self, name: str, text: str) -> None:
        if not self.record.stands(name, sha256_of(text)):
            write_text(self.out / name, text, self.record.settle)
