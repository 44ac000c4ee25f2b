"""The program as a person runs it: its words go in, its status and what it says come out.

`run` has the whole program in this process, which saves Python's start and what it loads: `main`
with the words, output, folder and environment that it would have, and its own memory of defaults.
`run_alone` starts a process, for what only one can show: files open at the end, libraries that
write to the terminal themselves.
"""

from __future__ import annotations

import os
import subprocess
import sys
from contextlib import chdir, redirect_stderr, redirect_stdout
from io import BytesIO, TextIOWrapper
from pathlib import Path
from subprocess import CompletedProcess

import pytest

from playalong import cli
from playalong.cli.defaults import defaults

LONGEST_SECONDS = 120


def run(*words: object, cwd: Path | None = None, **environment: str) -> CompletedProcess[str]:
    """Run the program in this process."""
    out, err = (TextIOWrapper(BytesIO(), encoding="utf-8", write_through=True) for _ in range(2))
    defaults.cache_clear()
    with (
        pytest.MonkeyPatch.context() as patch,
        chdir(cwd or "."),
        redirect_stdout(out),
        redirect_stderr(err),
    ):
        patch.setattr(sys, "argv", ["playalong", *map(str, words)])
        patch.setattr(cli, "STOPPING", ())  # signals are pytest's
        for name, value in environment.items():
            patch.setitem(os.environ, name, value)
        try:
            cli.main()
            status = 0
        except SystemExit as end:
            status = end.code if isinstance(end.code, int) else 0 if end.code is None else 1
    defaults.cache_clear()
    told = (stream.buffer.getvalue().decode() for stream in (out, err))
    return CompletedProcess(list(map(str, words)), status, *told)


def command(*words: object) -> list[str]:
    """What a shell would be given."""
    return [sys.executable, "-m", "playalong.cli", *map(str, words)]


def run_alone(*words: object, cwd: Path | None = None, **environment: str) -> CompletedProcess[str]:
    """Run the program in a process of its own."""
    return subprocess.run(
        command(*words),
        cwd=cwd,
        env={**os.environ, **environment},
        capture_output=True,
        text=True,
        timeout=LONGEST_SECONDS,
    )
