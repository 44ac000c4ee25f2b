"""Load check: a strange SoundFont is loaded and played in a process of its own first.

A damaged or hostile file can crash FluidSynth, hang it or eat the memory, and the whole build
with it. Here it takes down a child at most, and the person gets a sentence.
"""

from __future__ import annotations

import contextlib
import ctypes
import os
import subprocess
import sys
from functools import lru_cache
from pathlib import Path

from playalong.errors import reason
from playalong.performance.clock import BLOCK_FRAMES
from playalong.shipped import BANK_PLACES
from playalong.sound.fluid import BankError, fluid, fresh_synth

LIMIT_SECONDS = 20
LIMIT_BYTES = 2 * 1024**3
_RIFF_HEADER_BYTES = 12  # "RIFF", size of what follows, "sfbk" (SoundFont 2.04, 4)


def check_bank(path: Path) -> None:
    """Raise BankError, saying why, unless the bank loads and plays; the own bank is trusted.

    The verdict is kept for the life of the process, until the file's size or time changes.
    """
    path = path.absolute()
    if path in BANK_PLACES:
        return
    try:
        stat = path.stat()
    except OSError as error:
        raise BankError(f"The sound bank {path} cannot be found.") from error
    fault = _fault(path, stat.st_size, stat.st_mtime_ns)
    if fault:
        raise BankError(f"The sound bank {path} {fault}.")


@lru_cache(maxsize=64)
def _fault(path: Path, size_bytes: int, _mtime_ns: int) -> str | None:
    """What is wrong with the file, as the end of a sentence."""
    return _fault_of_form(path, size_bytes) or _fault_in_child(path)


def _fault_of_form(path: Path, size_bytes: int) -> str | None:
    if path.is_dir():
        return "is a folder; name the .sf2 file in it"
    try:
        with path.open("rb") as file:
            header = file.read(_RIFF_HEADER_BYTES)
    except OSError as error:
        return f"cannot be read ({reason(error)})"
    if not header:
        return "is empty; copy or download it again"
    if header[:4] != b"RIFF" or header[8:] != b"sfbk":
        return "is not a SoundFont; such a file ends in .sf2 or .sf3"
    stated_bytes = int.from_bytes(header[4:8], "little") + 8
    if stated_bytes > size_bytes:
        return (
            f"is cut short: {stated_bytes:,} bytes long by its own word, {size_bytes:,} in fact; "
            "copy or download it again"
        )
    return None


def _fault_in_child(path: Path) -> str | None:
    fluid()  # where the library is missing, that is no fault of the bank
    script = f"import {__name__} as b; b.child({os.fspath(path)!r}, {LIMIT_BYTES})"
    environment = os.environ | {"PYTHONPATH": os.pathsep.join(map(os.path.abspath, sys.path))}
    try:
        child = subprocess.run(
            [sys.executable, "-c", script],
            env=environment,
            capture_output=True,
            text=True,
            errors="replace",
            timeout=LIMIT_SECONDS,
        )
    except subprocess.TimeoutExpired:
        return f"keeps the synthesizer busy for more than {LIMIT_SECONDS} seconds; use another"
    if child.returncode == 0:
        return None
    words = child.stdout.strip()
    if "memory" in words.casefold():
        return f"needs more than {LIMIT_BYTES / 1024**3:g} GB of memory; use a smaller one"
    if child.returncode == _REFUSED:
        said = f" ({words})" if words else ""
        return f"is damaged: FluidSynth will not load it{said}"
    return "is damaged: it crashes the synthesizer"


# The child's side.
_REFUSED = 3  # exit status; whatever else is not 0 is a crash
_LOG_ERROR = 1  # FluidSynth's level
_KEYS = (36, 60, 84)


def child(path: str, limit_bytes: int) -> None:
    """Load the bank, play a moment of every program, and leave with a status that tells."""
    _limit_self(limit_bytes)
    words: list[str] = []
    log_type = ctypes.CFUNCTYPE(None, ctypes.c_int, ctypes.c_char_p, ctypes.c_void_p)
    log = log_type(lambda _level, text, _data: words.append(text.decode(errors="replace")))
    lib = fluid()
    lib.fluid_set_log_function(_LOG_ERROR, ctypes.cast(log, ctypes.c_void_p), None)
    try:
        with fresh_synth(Path(path)) as synth:
            sound = (ctypes.c_float * (4 * BLOCK_FRAMES))()
            where = ctypes.addressof(sound)
            for program in range(128):
                for channel in (0, 9):
                    lib.fluid_synth_program_change(synth, channel, program)
                    for key in _KEYS:
                        lib.fluid_synth_noteon(synth, channel, key, 100)
                for _ in range(2):
                    lib.fluid_synth_write_float(synth, 4 * BLOCK_FRAMES, where, 0, 1, where, 0, 1)
    except BankError:
        print(words[0] if words else "")
        sys.exit(_REFUSED)


def _limit_self(limit_bytes: int) -> None:
    if sys.platform == "win32":
        return
    import resource

    for limit, value in ((resource.RLIMIT_AS, limit_bytes), (resource.RLIMIT_CORE, 0)):
        with contextlib.suppress(ValueError, OSError):  # some systems know no such limit
            resource.setrlimit(limit, (value, value))
