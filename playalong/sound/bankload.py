"""Load check: a strange SoundFont is loaded and played in a process of its own first.

A damaged or hostile file can crash FluidSynth, hang it or eat the memory, and the whole build
with it. Here it takes down a child at most, and the person gets a sentence.
"""

from __future__ import annotations

import ctypes
import os
import signal
import subprocess
import sys
from functools import lru_cache
from pathlib import Path

from playalong.aside import limit_self, run_aside
from playalong.errors import reason
from playalong.performance.clock import BLOCK_FRAMES
from playalong.shipped import BANK_PLACES
from playalong.sound.fluid import BankError, MemoryShortError, fluid, fresh_synth

LIMIT_SECONDS = 20  # of the processor
LIMIT_BYTES = 2 * 1024**3
_RIFF_HEADER_BYTES = 12  # "RIFF", size of what follows, "sfbk" (SoundFont 2.04, 4)
_trusted = set(BANK_PLACES)


def check_bank(path: Path) -> None:
    """Raise BankError, saying why, unless the bank loads and plays; the own bank is trusted.

    MemoryShortError where that is not its fault. The verdict is kept for the life of the process,
    until the file's size or time changes.
    """
    path = path.absolute()
    if path in _trusted:
        return
    try:
        stat = path.stat()
    except OSError as error:
        raise BankError(f"The sound bank {path} cannot be found.") from error
    fault = _fault(path, stat.st_size, stat.st_mtime_ns)
    if fault:
        raise _bank_error(path, fault)


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
    try:
        in_child(__name__, path, LIMIT_BYTES)
    except BankError as error:
        return error.said
    return None


def in_child(module: str, path: Path, number: int) -> str:
    """What `child(path, number)` of a module prints, in a process that is given LIMIT_SECONDS.

    Raises BankError, whose `said` is what is wrong with the bank, as the end of a sentence;
    MemoryShortError where it is this computer.
    """
    try:
        child = run_aside(module, os.fspath(path), number, seconds=LIMIT_SECONDS)
    except subprocess.TimeoutExpired:
        busy = f"keeps the synthesizer busy for more than {LIMIT_SECONDS} seconds; use another"
        raise _bank_error(path, busy) from None
    except OSError as error:
        raise MemoryShortError(f"cannot try the sound bank {path}: {reason(error)}") from error
    if child.returncode == 0:
        return _text(child.stdout)
    if _lacked_memory(child):
        raise MemoryShortError(
            f"there is not enough memory to try the sound bank {path}; close other programs, or "
            "use a smaller one"
        )
    raise _bank_error(path, _told_by(child))


def _lacked_memory(child: subprocess.CompletedProcess[bytes]) -> bool:
    """Whether a child ended for want of memory that it was allowed to have."""
    killed = child.returncode == -getattr(signal, "SIGKILL", 0)  # by a system that has none left
    return killed or any(sign in _text(child.stderr) for sign in _SIGNS_OF_NO_MEMORY)


def _text(printed: bytes) -> str:
    return printed.decode("utf-8", "replace")


def _told_by(child: subprocess.CompletedProcess[bytes]) -> str:
    """What is wrong with the bank, by the way in which a child ended."""
    if child.returncode == _TOO_LARGE:
        return f"needs more than {LIMIT_BYTES / 1024**3:g} GB of memory; use a smaller one"
    if child.returncode == _REFUSED:
        words = _text(child.stdout).strip()
        return f"is damaged: FluidSynth will not load it{f' ({words})' if words else ''}"
    return "is damaged: it crashes the synthesizer"


def _bank_error(path: Path, fault: str) -> BankError:
    return BankError(f"The sound bank {path} {fault}.", fault)


# The child's side.
_REFUSED, _TOO_LARGE = 3, 4  # exit status; whatever else is not 0 is a crash
_SIGNS_OF_NO_MEMORY = (
    "MemoryError",
    "MemoryShortError",
    "Cannot allocate memory",
    "failed to map segment",  # of a library
)
_KEYS = range(128)


def child(path: str, limit_bytes: int) -> None:
    """Load the bank, play a moment of every program, and leave with a status that tells."""
    ours = limit_self(CORE=0, AS=limit_bytes)
    lib = fluid()
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
    except BankError as error:
        print(error.said)
        sys.exit(_REFUSED)
    except (MemoryShortError, MemoryError):
        if not ours:
            raise
        sys.exit(_TOO_LARGE)


def trust(path: Path) -> None:
    """In a child, which may be taken down: play the bank without asking another child."""
    _trusted.add(path.absolute())
