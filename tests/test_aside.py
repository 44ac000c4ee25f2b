"""What crashes, loops or eats the memory in a process of its own leaves this one whole."""

from __future__ import annotations

import os
import signal
import subprocess
import sys

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
    if what == "eat":
        assert limit_self(AS=GIGABYTE)
        bytearray(2 * GIGABYTE)


def aside(what: str, seconds: float = 10, data: bytes = b"") -> subprocess.CompletedProcess[bytes]:
    return run_aside(__name__, what, seconds=seconds, data=data)


def test_a_child_is_fed_and_read_byte_by_byte() -> None:
    assert aside("echo", data=b"\x00\xff\n").stdout == b"\n\xff\x00"


@pytest.mark.skipif(sys.platform == "win32", reason="POSIX signals and limits")
def test_an_abort_and_a_want_of_memory_end_the_child_alone() -> None:
    assert aside("abort").returncode == -signal.SIGABRT
    assert b"MemoryError" in aside("eat").stderr


def test_a_loop_is_ended_by_the_clock() -> None:
    with pytest.raises(subprocess.TimeoutExpired, match="timed out after"):
        aside("loop", seconds=0.5)


def test_a_limit_that_no_system_knows_does_not_hold() -> None:
    assert not limit_self(NO_SUCH_THING=1)
