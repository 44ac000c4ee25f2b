"""make: from a drill to a folder of tracks, with a manifest of all that was made."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator
from concurrent.futures import Future, ThreadPoolExecutor, as_completed
from contextlib import contextmanager
from dataclasses import dataclass
from itertools import groupby
from pathlib import Path
from typing import TypeVar

from playalong.build.plan import Options, Plan, plan_build
from playalong.build.rung import RungMade, Watch, make_rung
from playalong.build.session import make_session
from playalong.drill.model import Drill
from playalong.output.files import make_folder, write_text
from playalong.output.guidance import read_me_first
from playalong.output.manifest import FILE_NAME, Manifest, SessionEntry
from playalong.track.bankload import check_bank

GUIDANCE_NAME = "read-me-first.txt"
T = TypeVar("T")


@dataclass(frozen=True)
class Made:
    plan: Plan
    manifest: Manifest
    out: Path


def make(
    drill: Drill,
    out: Path,
    options: Options,
    *,
    jobs: int | None = None,
    started: Callable[[Plan], None] = lambda plan: None,
    watch: Watch = lambda seconds: None,
) -> Made:
    """Make every track of a drill below `out`.

    `started` is told the plan, `watch` every second of sound as it is done. Raises
    PlayalongError for a drill that cannot be played, a bank that cannot be used, or a place
    that cannot be written to.
    """
    plan = plan_build(drill, options)
    check_bank(options.bank)
    make_folder(out)
    started(plan)
    with _workers(jobs) as pool:
        made = _all(pool.submit(make_rung, drill, r, options, out, watch) for r in plan.rungs)
        sessions = _make_sessions(pool, drill, plan, made, options, out)
    manifest = Manifest(
        title=drill.title,
        drill_file=Path(drill.file).name,
        drill_sha256=drill.sha256,
        tracks=tuple(entry for rung in made for entry in rung.entries),
        sessions=sessions,
        left_out=(*plan.skipped, *plan.left_out),
    )
    write_text(out / GUIDANCE_NAME, read_me_first(drill))
    write_text(out / FILE_NAME, manifest.json())
    return Made(plan, manifest, out)


def _make_sessions(
    pool: ThreadPoolExecutor,
    drill: Drill,
    plan: Plan,
    made: list[RungMade],
    options: Options,
    out: Path,
) -> tuple[SessionEntry, ...]:
    if not options.sessions:
        return ()
    gains = {rung: each.gain for rung, each in zip(plan.rungs, made, strict=True)}

    def jobs() -> Iterator[Future[SessionEntry]]:
        for _, group in groupby(plan.rungs, key=lambda rung: rung.folder):
            yield pool.submit(make_session, drill, tuple(group), gains, options, out)

    return tuple(_all(jobs()))


def _all(futures: Iterator[Future[T]]) -> list[T]:
    """Results in the order of submission; the first failure is raised as soon as it is known."""
    submitted = list(futures)
    for future in as_completed(submitted):
        future.result()
    return [future.result() for future in submitted]


@contextmanager
def _workers(jobs: int | None) -> Iterator[ThreadPoolExecutor]:
    """A pool that drops what has not begun when the work fails or is interrupted."""
    pool = ThreadPoolExecutor(jobs or os.cpu_count() or 1)
    try:
        yield pool
    except BaseException:
        pool.shutdown(cancel_futures=True)
        raise
    pool.shutdown()
