"""FluidSynth through ctypes: prototypes bound once, its chatter silenced, one fresh synth a call.

pyfluidsynth finds the library; the calls go straight to C, because float samples
(`fluid_synth_write_float`) and exact repetition are not to be had otherwise. The C interface is
documented at https://www.fluidsynth.org/api/.
"""

from __future__ import annotations

import atexit
import contextlib
import ctypes
import io
import os
import threading
from collections.abc import Callable, Iterator
from ctypes import c_char_p, c_double, c_int, c_uint, c_void_p
from pathlib import Path

from playalong.errors import PlayalongError, SurroundingsError
from playalong.performance.clock import SAMPLE_RATE_HZ

POLYPHONY = 128  # voices; FluidSynth walks through all of them at every bend

# Result and arguments of every C function used here; whatever makes sound or reads a file lets
# go of the interpreter lock, the quick ones keep it (a third of the time for a call).
_SLOW = {
    "new_fluid_synth": (c_void_p, (c_void_p,)),
    "delete_fluid_synth": (None, (c_void_p,)),
    "fluid_synth_sfload": (c_int, (c_void_p, c_char_p, c_int)),
    "fluid_synth_write_float": (
        c_int,
        (c_void_p, c_int, c_void_p, c_int, c_int, c_void_p, c_int, c_int),
    ),
}
_QUICK = {
    "fluid_set_log_function": (c_void_p, (c_int, c_void_p, c_void_p)),
    "new_fluid_settings": (c_void_p, ()),
    "delete_fluid_settings": (None, (c_void_p,)),
    "fluid_settings_setint": (c_int, (c_void_p, c_char_p, c_int)),
    "fluid_settings_setnum": (c_int, (c_void_p, c_char_p, c_double)),
    "fluid_synth_set_interp_method": (c_int, (c_void_p, c_int, c_int)),
    "fluid_synth_noteon": (c_int, (c_void_p, c_int, c_int, c_int)),
    "fluid_synth_noteoff": (c_int, (c_void_p, c_int, c_int)),
    "fluid_synth_cc": (c_int, (c_void_p, c_int, c_int, c_int)),
    "fluid_synth_program_change": (c_int, (c_void_p, c_int, c_int)),
    "fluid_synth_pitch_bend": (c_int, (c_void_p, c_int, c_int)),
    "fluid_synth_pitch_wheel_sens": (c_int, (c_void_p, c_int, c_int)),
    "fluid_synth_bank_select": (c_int, (c_void_p, c_int, c_int)),
    "fluid_synth_set_gen": (c_int, (c_void_p, c_int, c_int, ctypes.c_float)),
    "new_fluid_sample": (c_void_p, ()),
    "delete_fluid_sample": (None, (c_void_p,)),
    "fluid_sample_set_sound_data": (
        c_int,
        (c_void_p, c_void_p, c_void_p, c_uint, c_uint, ctypes.c_short),
    ),
    "fluid_sample_set_loop": (c_int, (c_void_p, c_uint, c_uint)),
    "fluid_sample_set_pitch": (c_int, (c_void_p, c_int, c_int)),
    "fluid_synth_alloc_voice": (c_void_p, (c_void_p, c_void_p, c_int, c_int, c_int)),
    "fluid_voice_gen_set": (None, (c_void_p, c_int, ctypes.c_float)),
    "fluid_synth_start_voice": (None, (c_void_p, c_void_p)),
}
_LOG_LEVELS = 5
_LOG_ERROR = 1
_MOST_ERRORS = 8  # of one bank; the first tells the reason
_LogFunction = ctypes.CFUNCTYPE(None, c_int, c_char_p, c_void_p)

# Dry, alone, and nothing that differs from one run to the next.
_WHOLE_SETTINGS = {
    "synth.reverb.active": 0,
    "synth.chorus.active": 0,
    "synth.polyphony": POLYPHONY,
    "synth.min-note-length": 0,
    "synth.threadsafe-api": 0,  # each synth stays in the thread that made it
    "synth.lock-memory": 0,
}
_REAL_SETTINGS = {"synth.sample-rate": float(SAMPLE_RATE_HZ), "synth.gain": 1.0}
# Order. Measured on bent sines: noise of the fourth stands at -70 dB at 440 Hz and -50 at 4.4 kHz,
# of the seventh at -63 and -55, and the seventh takes a fifth more time.
_INTERPOLATION = 4
_ALL_CHANNELS = -1

MISSING = (
    "playalong makes its sound with FluidSynth, and the FluidSynth library was not found. "
    "Install it and try again: `apt install libfluidsynth3` on Debian and Ubuntu, "
    "`dnf install fluidsynth-libs` on Fedora, `brew install fluid-synth` on macOS, "
    "`choco install fluidsynth` on Windows."
)


class BankError(PlayalongError):
    """A sound bank that cannot be played; `said` is what FluidSynth said of it, which may be
    nothing."""

    def __init__(self, message: str, said: str = "") -> None:
        super().__init__(message)
        self.said = said


class MemoryShortError(SurroundingsError):
    """No fault of a bank's: there is not the memory to load it."""


class Fluid:
    """The bound C functions, as attributes by their C names; `errors` is what it has said."""

    def __init__(self) -> None:
        try:
            with contextlib.redirect_stdout(io.StringIO()):  # it talks where CI is set
                import fluidsynth
        except (ImportError, OSError) as error:
            raise SurroundingsError(MISSING) from error
        for load, table in ((ctypes.CDLL, _SLOW), (ctypes.PyDLL, _QUICK)):
            library = load(fluidsynth.lib)
            for name, (result, arguments) in table.items():
                function = getattr(library, name)
                function.restype, function.argtypes = result, arguments
                setattr(self, name, function)
        for level in range(_LOG_LEVELS):
            self.fluid_set_log_function(level, None, None)
        self.errors: list[str] = []
        self._listen = _LogFunction(self._hear)  # as long as C may call it
        heard = ctypes.cast(self._listen, c_void_p)
        self.fluid_set_log_function(_LOG_ERROR, heard, None)
        # The first synth of a process fills FluidSynth's tables, and a second one made meanwhile
        # in another thread finds them half full: its notes come out too soft, or not at all.
        settings = self.new_fluid_settings()
        self.delete_fluid_synth(self.new_fluid_synth(settings))
        self.delete_fluid_settings(settings)

    def __getattr__(self, name: str) -> ctypes._NamedFuncPointer:
        raise AttributeError(name)

    def _hear(self, _level: int, text: bytes, _data: object) -> None:
        if len(self.errors) < _MOST_ERRORS:
            self.errors.append(text.decode("utf-8", "replace"))


_lock = threading.Lock()
_fluid: Fluid | None = None


def fluid() -> Fluid:
    """The library, loaded at the first call; PlayalongError with the way out if it is missing."""
    global _fluid
    with _lock:
        if _fluid is None:
            _fluid = Fluid()
        return _fluid


# One thread at a time makes and deletes synths: the loaders of banks, libinstpatch's above all,
# crash when two of them run together.
_making = threading.RLock()
_kept: tuple[tuple[Path, int], contextlib.ExitStack] | None = None


@contextlib.contextmanager
def fresh_synth(bank: Path | None) -> Iterator[int]:
    """A new synth's handle, with `bank` loaded, deleted when the block is left.

    It plays dry, at 44.1 kHz and gain 1.0. Load a strange bank only after `bankload.check_bank`.
    Raises BankError if it cannot be loaded, MemoryShortError where that is not its fault.
    """
    if bank is not None:
        _keep(bank)
    with _new_synth(bank) as synth:
        yield synth


def _keep(bank: Path) -> None:
    """Hold the last bank in a synth of its own: as long as one has it, FluidSynth shares its
    samples with every other, which takes 1 ms instead of 10."""
    global _kept
    with _making:
        try:
            what = bank, bank.stat().st_mtime_ns
        except OSError:
            return  # loading it will tell
        if _kept is not None and _kept[0] == what:
            return
        _let_go()
        stack = contextlib.ExitStack()
        stack.enter_context(_new_synth(bank))
        _kept = what, stack


@atexit.register
def _let_go() -> None:
    global _kept
    if _kept is not None:
        _kept[1].close()
        _kept = None


@contextlib.contextmanager
def _new_synth(bank: Path | None) -> Iterator[int]:
    lib = fluid()
    with contextlib.ExitStack() as made:
        with _making:
            settings = made.enter_context(
                _made(lib.new_fluid_settings(), lib.delete_fluid_settings)
            )
            for name, whole in _WHOLE_SETTINGS.items():
                lib.fluid_settings_setint(settings, name.encode(), whole)
            for name, real in _REAL_SETTINGS.items():
                lib.fluid_settings_setnum(settings, name.encode(), real)
            synth = made.enter_context(_made(lib.new_fluid_synth(settings), lib.delete_fluid_synth))
            lib.fluid_synth_set_interp_method(synth, _ALL_CHANNELS, _INTERPOLATION)
            if bank is not None:
                lib.errors.clear()
                if lib.fluid_synth_sfload(synth, os.fsencode(bank), 1) < 0:
                    raise _refusal(bank, lib.errors)
        yield synth


def _refusal(bank: Path, errors: list[str]) -> PlayalongError:
    if any("memory" in each.casefold() for each in errors):
        return MemoryShortError(
            f"there is not enough memory to load the sound bank {bank}; close other programs, "
            "or use a smaller one"
        )
    return BankError(f"The sound bank {bank} could not be loaded by FluidSynth.", *errors[:1])


@contextlib.contextmanager
def _made(handle: int | None, delete: Callable[[int], None]) -> Iterator[int]:
    """What FluidSynth has made, deleted when the block is left."""
    if not handle:
        raise MemoryShortError("FluidSynth could not start a synthesizer; is memory short?")
    try:
        yield handle
    finally:
        with _making:
            delete(handle)
