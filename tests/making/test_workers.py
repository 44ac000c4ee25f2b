"""Workers go on while the build does, and give up soon after it."""

from __future__ import annotations

from concurrent.futures import Future
from threading import Event

import pytest

from playalong.making.workers import StoppedError, workers


def test_a_worker_tells_what_is_done() -> None:
    done: list[float] = []
    with workers(1) as pool:
        pool.submit(pool.heeding(done.append), 0.5).result()
    assert done == [0.5]


def test_when_the_build_is_interrupted_a_worker_gives_up_at_what_it_would_tell_next() -> None:
    done: list[float] = []
    begun = Event()
    jobs: list[Future[None]] = []

    def build() -> None:
        with workers(1) as pool:
            watch = pool.heeding(done.append)

            def work() -> None:
                watch(0.5)
                begun.set()
                assert pool.stop.wait(5)
                watch(0.5)

            jobs.append(pool.submit(work))
            assert begun.wait(5)
            raise KeyboardInterrupt("in the middle")

    with pytest.raises(KeyboardInterrupt, match="in the middle"):
        build()
    with pytest.raises(StoppedError, match="the build is given up"):
        jobs[0].result()
    assert done == [0.5]
