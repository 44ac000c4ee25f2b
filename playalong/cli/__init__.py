"""The command line: words for the person, no music. One module for each group of commands."""

from __future__ import annotations

import contextlib
import errno
import signal
import sys

from playalong.cli import (  # noqa: F401 - registers commands
    drill,
    mail,
    make,
    passage,
    settings,
    sheet,
    take,
)
from playalong.cli.shared import app, note
from playalong.errors import PlayalongError, SurroundingsError, reason

SIGNAL_STATUS = 128  # and the signal's number, as shells have it: Ctrl-C 130, a request to end 143
STOPPING = ("SIGINT", "SIGTERM", "SIGHUP")  # the last where the platform has it: a closed terminal
NO_ROOM = (errno.ENOSPC, errno.EDQUOT, errno.EFBIG)


class StopRequest(BaseException):
    """Ctrl-C, a closed terminal, or the system asking the program to end."""

    def __init__(self, signum: int) -> None:
        super().__init__()
        self.exit_status = SIGNAL_STATUS + signum


def main() -> None:
    """Run the command; what the person can put right is one clear message and exit status 2.

    Trouble with disk, folder or libraries is status 3; a signal's is 128 and its number.
    """
    for name in STOPPING:
        if hasattr(signal, name):
            signal.signal(getattr(signal, name), _stop)
    try:
        app()
    except PlayalongError as error:
        note(f"playalong: {error}")
        sys.exit(error.exit_status)
    except OSError as error:  # of a temporary file, say, for which nobody had words of their own
        place = f"{error.filename}: " if error.filename else ""
        way_out = "make room" if error.errno in NO_ROOM else "look what stands"
        note(f"playalong: {place}{reason(error)}; {way_out} there, and try again")
        sys.exit(SurroundingsError.exit_status)
    except MemoryError:
        note("playalong: there is not enough memory; close other programs, and try again")
        sys.exit(SurroundingsError.exit_status)
    except StopRequest as stop:
        with contextlib.suppress(OSError):  # the terminal may be gone
            note("playalong: stopped; what stands is whole, and the same command goes on from here")
        sys.exit(stop.exit_status)


def _stop(signum: int, frame: object) -> None:
    raise StopRequest(signum)
