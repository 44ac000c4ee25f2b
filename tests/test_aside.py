"""What crashes, loops or eats the memory in a process of its own leaves this one whole."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time

import pytest

from playalong.aside import limit_self, run_aside

GIGABYTE = 1024**3


def child(what: str) -> None:
    if what == "echo":
        sys.stdout.buffer.write(sys.stdin.buffer.read()[::-1])
    if what == "abort":
        os.abort()
    if what == "loop":
        while True:
            pass
    if what == "sleep":
        time.sleep(60)
    if what == "eat":
        assert limit_self(AS=GIGABYTE)
        bytearray(2 * GIGABYTE)


def aside(what: str, seconds: float = 10, data: bytes = b"") -> subprocess.CompletedProcess[bytes]:
    return run_aside(__name__, what, seconds=seconds, data=data)


def processor_seconds() -> float:
    times = os.times()
    return times.children_user + times.children_system


def test_a_child_is_fed_and_read_byte_by_byte() -> None:
    assert aside("echo", data=b"\x00\xff\n").stdout == b"\n\xff\x00"


@pytest.mark.skipif(sys.platform == "win32", reason="POSIX signals and limits")
def test_an_abort_and_a_want_of_memory_end_the_child_alone() -> None:
    assert aside("abort").returncode == -signal.SIGABRT
    assert b"MemoryError" in aside("eat").stderr


def test_a_loop_is_ended_by_its_time_of_the_processor() -> None:
    before = processor_seconds()
    with pytest.raises(subprocess.TimeoutExpired, match="timed out after 1 seconds"):
        aside("loop", seconds=1)
    assert 0.9 <= processor_seconds() - before < 2


def test_sleep_is_ended_by_the_clock(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("playalong.aside.PATIENCE", 1)
    with pytest.raises(subprocess.TimeoutExpired, match="timed out after 0"):
        aside("sleep", seconds=0.5)


def test_a_limit_that_no_system_knows_does_not_hold() -> None:
    assert not limit_self(NO_SUCH_THING=1)
