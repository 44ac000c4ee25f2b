"""Workers: threads that give up soon after the build does."""

from __future__ import annotations

import os
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from threading import Event

from playalong.making.rung import Watch


class StoppedError(Exception):
    """Raised inside a worker when the build is given up."""


class Workers(ThreadPoolExecutor):
    """Threads, since the encoder lets go of the interpreter lock; `stop` ends them soon."""

    def __init__(self, jobs: int) -> None:
        super().__init__(jobs)
        self.stop = Event()

    def heeding(self, watch: Watch) -> Watch:
        """`watch`, but raising in the worker once the build is given up."""

        def heeded(seconds: float) -> None:
            if self.stop.is_set():
                raise StoppedError("the build is given up")
            watch(seconds)

        return heeded


@contextmanager
def workers(jobs: int | None) -> Iterator[Workers]:
    """A pool that gives up at once when the work fails or is interrupted."""
    pool = Workers(jobs or os.cpu_count() or 1)
    try:
        yield pool
    except BaseException:
        pool.stop.set()
        pool.shutdown(cancel_futures=True)
        raise
    pool.shutdown()
