"""What holds whatever is read: no traceback, an answer soon, memory that does not grow, and what
is wrong told in a few words."""

from __future__ import annotations

import resource
import signal
import time
import traceback
from collections import Counter
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from random import Random
from types import FrameType

from playalong.errors import PlayalongError

MOST_GROWTH_BYTES = 300 * 1024**2
LONGEST_LINE = 450  # characters of a message, without the place that it names
LONGEST_MESSAGE = 9_000  # a list of pupils may tell twenty faults


@dataclass(frozen=True)
class Kind:
    """One kind of hostile thing: how a case comes about, and what is tried with it."""

    case: Callable[[Random], bytes]
    attempt: Callable[[bytes, Path], str]  # with a folder to work in; says what became of it
    limit_seconds: float
    by_the_clock: bool = False  # where a child does the work; else the time of this processor


@dataclass
class Tally:
    """What became of the cases."""

    outcomes: Counter[str] = field(default_factory=Counter)
    faults: dict[int, str] = field(default_factory=dict)  # by the number of the case
    slowest_seconds: float = 0.0
    growth_bytes: int = 0


class SlowError(BaseException):
    """An attempt that did not end in time; nothing that is tried may catch it."""


def case_of(kind: Kind, name: str, seed: int, number: int) -> bytes:
    """The same bytes for the same kind, seed and number, whatever was tried before."""
    return kind.case(Random(f"{name} {seed} {number}"))


def try_all(kind: Kind, name: str, seed: int, numbers: range, folder: Path) -> Tally:
    """Try the cases one after the other."""
    tally = Tally()
    for number in numbers:
        raw = case_of(kind, name, seed, number)
        before = _most_bytes()
        began = _now(kind)
        try:
            with _limited(kind):
                tally.outcomes[kind.attempt(raw, folder)] += 1
        except (Exception, SlowError):
            tally.faults[number] = traceback.format_exc()
        tally.slowest_seconds = max(tally.slowest_seconds, _now(kind) - began)
        grown = _most_bytes() - before
        if number > numbers.start:  # the first one loads what all need
            tally.growth_bytes += grown
            if grown > MOST_GROWTH_BYTES:
                tally.faults[number] = f"the memory grew by {grown:,} bytes"
    return tally


def assert_told(error: PlayalongError, place: object) -> None:
    """A message that a person can read, and that names the file or folder that it is about."""
    said = str(error)
    assert str(place) in said, f"a message that does not say where: {said!r}"
    said = said.replace(str(place), "")  # however long it is
    assert len(said) <= LONGEST_MESSAGE, f"{len(said)} characters: {said!r}"
    longest = max(map(len, said.split("\n")))
    assert longest <= LONGEST_LINE, f"a line of {longest} characters: {said!r}"


def _now(kind: Kind) -> float:
    return time.monotonic() if kind.by_the_clock else time.process_time()


def _most_bytes() -> int:
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * 1024


@contextmanager
def _limited(kind: Kind) -> Iterator[None]:
    timer, signum = (
        (signal.ITIMER_REAL, signal.SIGALRM)
        if kind.by_the_clock
        else (signal.ITIMER_PROF, signal.SIGPROF)
    )
    before = signal.signal(signum, _stop)
    signal.setitimer(timer, kind.limit_seconds)
    try:
        yield
    finally:
        signal.setitimer(timer, 0)
        signal.signal(signum, before)


def _stop(_signum: int, _frame: FrameType | None) -> None:
    raise SlowError
