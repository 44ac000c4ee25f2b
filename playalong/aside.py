"""A process of its own for what may crash, loop or eat the memory on a hostile file.

A library in C that does so takes its process with it; here that is a child at most.
"""

from __future__ import annotations

import os
import subprocess
import sys
from subprocess import CompletedProcess


def run_aside(
    module: str, *arguments: object, seconds: float, data: bytes = b""
) -> CompletedProcess[bytes]:
    """How `child(*arguments)` of a module ended, in a process that is fed `data`.

    Raises subprocess.TimeoutExpired after so many seconds by the clock, OSError where no process
    can be started.
    """
    script = f"import {module} as m; m.child({', '.join(map(repr, arguments))})"
    environment = os.environ | {"PYTHONPATH": os.pathsep.join(map(os.path.abspath, sys.path))}
    return subprocess.run(
        [sys.executable, "-c", script],
        input=data,
        env=environment,
        capture_output=True,
        timeout=seconds,
        check=False,
    )


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
            resource.setrlimit(getattr(resource, f"RLIMIT_{name}"), (value, value))
        except (AttributeError, ValueError, OSError):
            all_hold = False
    return all_hold
