"""Humdrum (**kern) to MEI, by verovio in a process of its own.

verovio reads Humdrum better than we could, but it may abort, loop or eat the memory on a file that
is none, and would take this process with it. There it has a bound on memory and processor time, may
write no file, and ends as one sentence here.
"""

from __future__ import annotations

import re
import subprocess
import sys

from playalong.aside import limit_self, run_aside
from playalong.errors import SurroundingsError, reason
from playalong.music.key import Key
from playalong.passage.mei_reader import read_mei
from playalong.passage.model import Keep, Part, PassageError

MOST_BYTES = 1024 * 1024  # a symphony's movement has half of it
LIMIT_BYTES = 300 * 1024 * 1024
LEAST_SECONDS = 1  # of the processor
SECONDS_A_MEGABYTE = 30  # a quartet of 83 kB takes 0.8 s on a machine of 2020
GAVE_UP = "the Humdrum file is damaged, or too large: its reader gave up on it"
_REFUSED = 3  # exit status; another that is not 0 is a crash
_RECORD = re.compile(rb"^(?:\*\*kern\b|.*\t\*\*kern\b)", re.MULTILINE)


def is_humdrum(data: bytes) -> bool:
    """Whether some line begins spines of notes (Humdrum user's guide, chapter 2)."""
    return _RECORD.search(data[:MOST_BYTES]) is not None


def read_humdrum(data: bytes, keep: Keep, key: Key | None) -> tuple[Part, ...]:
    """The parts that `keep` keeps, if they hold music. PassageError for what is no score."""
    if len(data) > MOST_BYTES:
        raise PassageError(f"the Humdrum file has more than {MOST_BYTES >> 20} MB")
    return read_mei(_mei(data), keep, key)


def _mei(data: bytes) -> bytes:
    seconds = LEAST_SECONDS + int(len(data) / 1e6 * SECONDS_A_MEGABYTE)
    try:
        child = run_aside(__name__, seconds=seconds, data=data)
    except subprocess.TimeoutExpired:
        raise PassageError(GAVE_UP) from None
    except OSError as error:
        raise SurroundingsError(f"cannot start a process to read it in: {reason(error)}") from None
    told = child.stderr.decode("utf-8", "replace")
    if child.returncode == _REFUSED or (child.returncode == 0 and "Error" in told):
        line = re.search(r"line:? (\d+)", told)
        where = f" near line {line[1]}" if line else ""
        raise PassageError(f"the Humdrum file is damaged{where}: its spines do not fit together")
    if child.returncode:
        raise PassageError(GAVE_UP)
    return child.stdout


def child() -> None:
    """In the process of its own: from the one stream to the other."""
    limit_self(CORE=0, FSIZE=0, AS=LIMIT_BYTES)
    import verovio

    verovio.enableLog(verovio.LOG_OFF)
    toolkit = verovio.toolkit()
    toolkit.setInputFrom("humdrum")
    toolkit.setOptions({"breaks": "none", "header": "none", "footer": "none"})
    text = sys.stdin.buffer.read().decode("utf-8", "replace")
    if not toolkit.loadData(text):
        sys.exit(_REFUSED)
    sys.stdout.buffer.write(toolkit.getMEI().encode("utf-8"))
