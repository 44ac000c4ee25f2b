"""Audio files: MP3, WAV, FLAC, Vorbis and Opus, from blocks, all or nothing.

Equal input gives equal bytes, every frame stays in its place, and memory does not grow with
length. WAV and FLAC hold 16 bits, which every player opens: each sample times 32768, rounded to
even, without dither, since the noise of a dither would have to be random or a pattern.
Opus is resampled to 48 kHz; the others keep 44.1 kHz.
"""

from __future__ import annotations

import contextlib
import shutil
import zlib
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import soundfile
from numpy.typing import NDArray

from playalong.errors import PlayalongError, SurroundingsError, nearest
from playalong.folder.files import Settle, create_part, in_its_place, put_in_place
from playalong.folder.names import AudioFormat
from playalong.performance.clock import SAMPLE_RATE_HZ
from playalong.sound.id3 import id3_tag, put_in_front
from playalong.sound.ogg import set_serial
from playalong.sound.resample import at_48k
from playalong.sound.tags import Tags

PIECE_FRAMES = 16_384  # libsndfile 1.2.2 crashes on larger Vorbis writes; threads gain by large
FULL_BYTES = 64 * 1024  # what is left of a disk that has just refused a write


class AudioError(PlayalongError):
    """An audio file that cannot be written as asked."""


class AudioWriteError(AudioError, SurroundingsError):
    """An audio file that the disk or the encoder did not take."""


@dataclass(frozen=True)
class Bitrates:
    """What an encoder offers, and the kbit/s that libsndfile's compression levels stand for."""

    offered: Mapping[int, float]  # kbit/s of the whole file: the factor that it lays on the sound
    default_kbps: tuple[int, int]  # mono, stereo
    level_0_kbps: int
    level_1_kbps: int
    per_channel: bool = False  # whether the levels stand for a channel's share

    def level(self, kbps: int, channels: int) -> float:
        share = kbps / channels if self.per_channel else kbps
        return (self.level_0_kbps - share) / (self.level_0_kbps - self.level_1_kbps)


@dataclass(frozen=True)
class Encoding:
    """How libsndfile is asked for a format; container, subtype and mode are its own names."""

    container: str
    subtype: str
    lossy: bool
    sample_rate_hz: int = SAMPLE_RATE_HZ
    mode: str | None = None
    bitrates: Bitrates | None = None  # None: it takes none


# Below 64 kbit/s an MP3 has no room for the frame that tells its exact length. LAME makes the
# sound quieter by a factor for each bit rate (libmp3lame/presets.c, measured): it is undone here.
MP3_BITRATES = Bitrates(
    dict.fromkeys((64, 80, 96, 112, 128, 160), 0.95) | {192: 0.97, 224: 0.98, 256: 1.0, 320: 1.0},
    default_kbps=(96, 160),
    level_0_kbps=320,
    level_1_kbps=32,
)
OPUS_BITRATES = Bitrates(
    dict.fromkeys((24, 32, 48, 64, 80, 96, 112, 128, 160, 192, 256), 1.0),
    default_kbps=(64, 112),
    level_0_kbps=256,
    level_1_kbps=6,
    per_channel=True,
)
ENCODINGS = {
    AudioFormat.MP3: Encoding(
        "MP3", "MPEG_LAYER_III", lossy=True, mode="CONSTANT", bitrates=MP3_BITRATES
    ),
    AudioFormat.WAV: Encoding("WAV", "PCM_16", lossy=False),
    AudioFormat.FLAC: Encoding("FLAC", "PCM_16", lossy=False),
    AudioFormat.OGG: Encoding("OGG", "VORBIS", lossy=True),
    AudioFormat.OPUS: Encoding(
        "OGG", "OPUS", lossy=True, sample_rate_hz=48_000, bitrates=OPUS_BITRATES
    ),
}


def write_audio(
    path: Path,
    blocks: Iterable[NDArray[np.float32]],
    *,
    format: str,
    channels: int,
    tags: Tags,
    bitrate_kbps: int | None = None,
    settle: Settle = in_its_place,
) -> str:
    """Write blocks at 44.1 kHz, shape (frames,) for mono or (frames, channels), within ±1.

    Returns the file's hash. It appears whole or not at all: a failure, even of `blocks`, leaves
    the old one as it was. Raises AudioError for a format or bit rate that is not offered, for a
    file that cannot be written, and for sound that is empty or leaves ±1.
    """
    known = audio_format(format)
    if channels not in (1, 2):
        raise AudioError(f"one or two channels are written, not {channels}")
    encoding = ENCODINGS[known]
    level, factor = _level_and_factor(known, channels, bitrate_kbps)
    with _errors_in_words(path):
        part = create_part(path)  # says what is wrong with the place; libsndfile does not
    try:
        pieces = (piece / np.float32(factor) for piece in _pieces(blocks, channels))
        frames = _encode(part, path, pieces, encoding, channels, tags, level)
        if not frames:
            raise AudioError(f"{path} would be empty: there is no sound to write")
        with _errors_in_words(path):
            _finish(part, encoding, tags)
            _check(part, frames)
            return put_in_place(part, path, settle)
    finally:
        with contextlib.suppress(OSError):
            part.unlink()


def audio_format(name: str) -> AudioFormat:
    """The format of that name, or AudioError with the nearest known one."""
    if name not in ENCODINGS:
        raise AudioError(f'unknown audio format "{name}"' + nearest(name, ENCODINGS))
    return AudioFormat(name)


def _level_and_factor(
    format: AudioFormat, channels: int, kbps: int | None
) -> tuple[float | None, float]:
    """libsndfile's compression level, and the factor that the encoder lays on the sound."""
    bitrates = ENCODINGS[format].bitrates
    if bitrates is None:
        if kbps is not None:
            takers = " or ".join(name for name, each in ENCODINGS.items() if each.bitrates)
            raise AudioError(f"{format} takes no bit rate; leave it out, or choose {takers}")
        return None, 1.0
    if kbps is None:
        kbps = bitrates.default_kbps[channels - 1]
    if kbps not in bitrates.offered:
        offered = ", ".join(map(str, bitrates.offered))
        raise AudioError(f"{format} at {kbps} kbit/s is not offered; choose one of {offered}")
    return bitrates.level(kbps, channels), bitrates.offered[kbps]


def _pieces(blocks: Iterable[NDArray[np.float32]], channels: int) -> Iterator[NDArray[np.float32]]:
    """The sound within ±1, cut anew to (PIECE_FRAMES, channels): Vorbis bytes depend on the cut."""
    waiting = np.zeros((0, channels), np.float32)
    done = 0
    for block in blocks:
        sound = block.reshape(-1, 1) if block.ndim == 1 else block
        if sound.shape[1] != channels:
            raise AudioError(f"a block of {sound.shape[1]} channels in a file of {channels}")
        over = ~(np.abs(sound) <= 1)  # written so that not-a-number is caught as well
        if over.any():
            seconds = (done + int(over.any(axis=1).argmax())) / SAMPLE_RATE_HZ
            raise AudioError(
                f"the sound leaves full scale at {seconds:.3f} seconds; make it quieter"
            )
        done += len(sound)
        waiting = np.concatenate([waiting, sound], dtype=np.float32)
        while len(waiting) >= PIECE_FRAMES:
            yield waiting[:PIECE_FRAMES]
            waiting = waiting[PIECE_FRAMES:]
    if len(waiting):
        yield waiting


def _encode(
    part: Path,
    path: Path,
    pieces: Iterator[NDArray[np.float32]],
    encoding: Encoding,
    channels: int,
    tags: Tags,
    level: float | None,
) -> int:
    """Write the pieces and return the frames written, at the file's own rate."""
    if encoding.sample_rate_hz != SAMPLE_RATE_HZ:
        pieces = at_48k(pieces)
    with _errors_in_words(path):
        file = soundfile.SoundFile(
            part,
            "w",
            encoding.sample_rate_hz,
            channels,
            subtype=encoding.subtype,
            format=encoding.container,
            compression_level=level,
            bitrate_mode=encoding.mode,
        )
    frames = 0
    try:
        if encoding.container != "MP3":
            for field, text in _fields(tags).items():
                setattr(file, field, text)
        for piece in pieces:
            with _errors_in_words(path):
                file.write(piece if encoding.lossy else _sixteen_bits(piece))
            frames += len(piece)
    finally:
        with _errors_in_words(path):
            file.close()
    return frames


def _sixteen_bits(sound: NDArray[np.float32]) -> NDArray[np.int16]:
    """Rounded here, because libsndfile cuts towards minus infinity when it clips."""
    return np.clip(np.rint(sound * 32_768), -32_768, 32_767).astype(np.int16)


def _fields(tags: Tags) -> dict[str, str]:
    """libsndfile's own text fields."""
    fields = {
        "title": tags.title,
        "album": tags.album,
        "tracknumber": tags.track,
        "comment": tags.details,
    }
    return {field: text for field, text in fields.items() if text}


def _finish(part: Path, encoding: Encoding, tags: Tags) -> None:
    if encoding.container == "MP3":
        put_in_front(part, id3_tag(tags))
    if encoding.container == "OGG":
        set_serial(part, zlib.crc32(repr(tags).encode()))  # tracks differ, so chains stay legal


def _check(part: Path, frames: int) -> None:
    """libsndfile keeps silent when the disk fills up while it closes: count, and read the end."""
    with soundfile.SoundFile(part) as file:
        if file.frames == frames:
            file.seek(frames - 1)
            if len(file.read()) == 1:
                return
    raise OSError("not all of the sound arrived")


@contextlib.contextmanager
def _errors_in_words(path: Path) -> Iterator[None]:
    """Errors of the system and of libsndfile, in words for the person."""
    try:
        yield
    except (OSError, soundfile.SoundFileError) as error:
        # strerror is the system's word, error_string libsndfile's
        words = (getattr(error, name, None) for name in ("strerror", "error_string"))
        reason = next(filter(None, words), str(error))
        if isinstance(error, soundfile.SoundFileError) and _is_full(path.parent):
            reason = "no room is left on the disk"  # of which libsndfile knows nothing
        raise AudioWriteError(
            f"cannot write {path}: {reason.rstrip('.')}; "
            "check that the folder exists, may be written to and has room"
        ) from error


def _is_full(folder: Path) -> bool:
    try:
        return shutil.disk_usage(folder).free < FULL_BYTES
    except OSError:
        return False
