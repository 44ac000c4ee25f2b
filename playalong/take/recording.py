"""Recordings as they come: one channel of samples at the file's own rate, read where asked for.

libsndfile reads WAV, FLAC, MP3, Ogg, Opus, AIFF and CAF. Anything else, like the m4a and webm of a
phone, goes through ffmpeg where it is on the path, into a temporary WAV.
"""

from __future__ import annotations

import shutil
import subprocess
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any, Protocol

import numpy as np
from numpy.typing import NDArray

from playalong.errors import PlayalongError, reason

Samples = NDArray[np.float32]
LEAST_HZ, MOST_HZ = 8_000, 384_000
CONVERT_SECONDS = 1800  # the longest that ffmpeg may take
MOST_HOURS = 12
DECODED_FRAMES = 1 << 17  # at once: all channels of a long stretch would fill the memory
KEPT_SECONDS = 2  # before what is asked for, since notes overlap


class RecordingError(PlayalongError):
    """A recording that cannot be listened to."""


class Sounds(Protocol):
    """What can be listened to: samples of one channel, by place."""

    @property
    def rate_hz(self) -> int: ...

    @property
    def frames(self) -> int: ...

    def read(self, start: int, stop: int) -> Samples:
        """The samples from `start` to before `stop`; nought outside the recording."""


@dataclass(frozen=True)
class InMemory:
    """Samples at hand."""

    samples: Samples
    rate_hz: int

    @property
    def frames(self) -> int:
        return len(self.samples)

    def read(self, start: int, stop: int) -> Samples:
        inside = self.samples[max(start, 0) : max(stop, 0)]
        return _padded(inside, start, stop, self.frames)


class InFile:
    """A sound file, open. The stretch read last is at hand: notes overlap, and packed files seek
    slowly."""

    def __init__(self, name: str, file: Any) -> None:
        self.name, self.file = name, file  # soundfile.SoundFile
        self.kept_from, self.kept = 0, np.zeros(0, np.float32)

    @property
    def rate_hz(self) -> int:
        return int(self.file.samplerate)

    @property
    def frames(self) -> int:
        return int(self.file.frames)

    def read(self, start: int, stop: int) -> Samples:
        first, last = min(max(start, 0), self.frames), min(max(stop, 0), self.frames)
        kept_to = self.kept_from + len(self.kept)
        if not self.kept_from <= first <= kept_to:
            self.kept_from, self.kept = first, self._decoded(first, last)
        elif last > kept_to:
            begin = max(first - KEPT_SECONDS * self.rate_hz, self.kept_from)
            after = self._decoded(kept_to, last)
            self.kept = np.concatenate([self.kept[begin - self.kept_from :], after])
            self.kept_from = begin
        inside = self.kept[first - self.kept_from : last - self.kept_from]
        return _padded(inside, start, stop, self.frames)

    def _decoded(self, first: int, last: int) -> Samples:
        import soundfile

        mono = np.zeros(last - first, np.float32)
        try:
            if self.file.tell() != first:
                self.file.seek(first)
            for start in range(0, len(mono), DECODED_FRAMES):
                part = mono[start : start + DECODED_FRAMES]
                read = self.file.read(len(part), dtype="float32", always_2d=True)
                part[: len(read)] = read.mean(1)
        except (soundfile.SoundFileError, OSError, RuntimeError):
            raise RecordingError(f"{self.name} breaks off or is damaged; record it again") from None
        return np.nan_to_num(mono, copy=False, nan=0, posinf=0, neginf=0)


def _padded(inside: Samples, start: int, stop: int, frames: int) -> Samples:
    before = min(max(-start, 0), max(stop - start, 0))
    after = max(stop - start - before - len(inside), 0)
    return np.pad(inside, (before, after)) if before or after else inside


@contextmanager
def opened(path: Path) -> Iterator[InFile]:
    """A recording, to be read while this is held. RecordingError says what to do instead."""
    import soundfile

    if not path.is_file():
        raise RecordingError(f"there is no recording {path}")
    try:
        file = soundfile.SoundFile(path)
    except (soundfile.SoundFileError, RuntimeError, TypeError):
        with TemporaryDirectory(prefix="playalong-") as folder:
            wav = _converted(path, Path(folder) / "take.wav")
            with soundfile.SoundFile(wav) as file:
                yield _checked(path, file)
        return
    except OSError as error:
        raise RecordingError(f"cannot read {path}: {reason(error)}") from None
    with file:
        yield _checked(path, file)


def _checked(path: Path, file: Any) -> InFile:
    recording = InFile(str(path), file)
    if not LEAST_HZ <= recording.rate_hz <= MOST_HZ:
        raise RecordingError(
            f"{path} holds {recording.rate_hz} samples a second; record at 44100 or 48000"
        )
    if recording.frames <= 0:
        raise RecordingError(f"{path} holds no sound")
    if recording.frames > MOST_HOURS * 3600 * recording.rate_hz:
        raise RecordingError(f"{path} is longer than {MOST_HOURS} hours; cut it")
    return recording


def _converted(path: Path, wav: Path) -> Path:
    program = shutil.which("ffmpeg")
    if program is None:
        raise RecordingError(
            f"{path} is no sound file that can be read here. If it plays elsewhere (m4a and webm "
            "of a phone do), put ffmpeg on this computer, or save it as WAV"
        )
    source = str(path.resolve())
    command = [program, "-nostdin", "-v", "error", "-protocol_whitelist", "file"]
    command += ["-i", f"file:{source}", "-vn", "-ac", "1", "-c:a", "pcm_s16le", str(wav)]
    try:
        done = subprocess.run(command, capture_output=True, timeout=CONVERT_SECONDS, check=False)
    except (OSError, subprocess.TimeoutExpired):
        done = None
    if done is None or done.returncode or not wav.is_file():
        raise RecordingError(f"{path} is no recording: neither we nor ffmpeg can read it")
    return wav
