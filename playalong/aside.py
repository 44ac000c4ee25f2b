"""A process of its own for what may crash, loop or eat the memory on a hostile file.

A library in C that does so takes its process with it; here that is a child at most.
"""

from __future__ import annotations

import math
import os
import signal
import subprocess
import sys
from subprocess import CompletedProcess

PATIENCE = 1 if sys.platform == "win32" else 30  # by the clock: others use the processor as well


def run_aside(
    module: str, *arguments: object, seconds: float, data: bytes = b""
) -> CompletedProcess[bytes]:
    """How `child(*arguments)` of a module ended, in a process that is fed `data`.

    Raises subprocess.TimeoutExpired where it takes more than so many seconds of the processor, or
    PATIENCE times as many by the clock; OSError where no process can be started.
    """
    script = (
        f"from {__name__} import limit_self; limit_self(CPU={math.ceil(seconds)}); "
        f"import {module} as m; m.child({', '.join(map(repr, arguments))})"
    )
    environment = os.environ | {"PYTHONPATH": os.pathsep.join(map(os.path.abspath, sys.path))}
    child = subprocess.run(
        [sys.executable, "-c", script],
        input=data,
        env=environment,
        capture_output=True,
        timeout=PATIENCE * seconds,
        check=False,
    )
    if child.returncode == -getattr(signal, "SIGXCPU", 0) != 0:
        raise subprocess.TimeoutExpired(child.args, seconds)
    return child


def limit_self(**limits: int) -> bool:
    """Bound this process by resource limits (POSIX setrlimit: `AS` bytes, `CPU` seconds, …).

    Whether all of them hold now: some systems know no such limit, or have a lower one.
    """
    if sys.platform == "win32":
        return False
    import resource

    all_hold = True
    for name, value in limits.items():
        try:
            hard = value + 1 if name == "CPU" else value  # first the signal that says why
            resource.setrlimit(getattr(resource, f"RLIMIT_{name}"), (value, hard))
        except (AttributeError, ValueError, OSError):
            all_hold = False
    return all_hold
