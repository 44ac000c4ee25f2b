"""MP3 files set in a row, frame for frame, without encoding any of them again.

Frames hang together by their bit reservoir alone. An encoder that begins with an Info frame finds
it empty, so what follows can be decoded from its first frame on, whatever stands before. A row is
such runs of frames and frames of silence behind one new Info frame; a player that is gapless by
it hears each file at `frames before x 1,152`, sample for sample as it sounds alone.

ISO/IEC 11172-3, 2.4.1 (frame, side information); the Info frame as LAME writes it
(libmp3lame/VbrTag.c, from memory): behind the side information stand "Info", flags, frames and
bytes of the file, 100 places to seek, the encoder, its delay and padding, and two checksums.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cache
from itertools import repeat
from pathlib import Path

from playalong.errors import SurroundingsError, reason
from playalong.sound.id3 import id3_tag, read_tag
from playalong.sound.tags import Tags

FRAME_SAMPLES = 1152  # of MPEG-1 layer III
HEADER_BYTES = 4
SIDE_BYTES = {1: 17, 2: 32}  # side information, by channels
KBPS = (0, 32, 40, 48, 56, 64, 80, 96, 112, 128, 160, 192, 224, 256, 320)  # by the header's index
MONO = 0b11  # the first two bits of the header's last byte
HOW_JOINT = 0b0011_0000  # there too: how two channels share a frame, which may change each time
CHUNK_BYTES = 1 << 20

# Bytes within the tag of an Info frame.
NAME = slice(0, 4)
FRAMES = slice(8, 12)  # without the Info frame
BYTES = slice(12, 16)  # with it
SEEK = slice(16, 116)  # the byte at each hundredth of the time, of 256
DELAY_AND_PADDING = slice(141, 144)  # samples, 12 bits each
LENGTH = slice(148, 152)  # as BYTES
MUSIC_CHECKSUM = slice(152, 154)  # of all that follows the Info frame
OWN_CHECKSUM = slice(154, 156)  # of all before it in the Info frame
TAG_BYTES = 156
LINEAR = bytes(256 * hundredth // 100 for hundredth in range(100))  # the bit rate is constant

CHECKSUM_BITS = 16
POLYNOMIAL = 0xA001  # CRC-16 of 8005, bits mirrored, beginning with 0
ONE, X = 0x8000, 0x4000  # polynomials as such checksums spell them


class Mp3Error(SurroundingsError):
    """A file that is gone, or not as our encoder left it."""


@dataclass(frozen=True)
class Run:
    """The frames of one file, behind its tag and its Info frame."""

    path: Path
    first_byte: int
    info: bytes  # the Info frame
    size: int  # bytes

    @classmethod
    def of(cls, path: Path) -> Run:
        """The run of a file that `write_audio` wrote. Mp3Error if it cannot be read as such."""
        try:
            at = len(read_tag(path))
            with path.open("rb") as file:
                file.seek(at)
                head = file.read(HEADER_BYTES + max(SIDE_BYTES.values()) + TAG_BYTES)
                start = _tag_start(head)
                tag = head[start : start + TAG_BYTES]
                length = int.from_bytes(tag[BYTES])
                if tag[NAME] != b"Info" or at + length != path.stat().st_size:
                    raise Mp3Error(f"{path} has changed since it was made; build with --verify")
                file.seek(at)
                info = file.read(_frame_bytes(head))
        except OSError as error:
            raise Mp3Error(f"cannot read {path}: {reason(error)}; build again") from error
        return cls(path, at + len(info), info, length - len(info))

    @property
    def tag(self) -> bytes:
        start = _tag_start(self.info)
        return self.info[start : start + TAG_BYTES]

    @property
    def frames(self) -> int:
        return int.from_bytes(self.tag[FRAMES])

    @property
    def delay(self) -> int:
        """Samples of the encoder's own, before the sound."""
        return int.from_bytes(self.tag[DELAY_AND_PADDING]) >> 12

    @property
    def padding(self) -> int:
        """Samples of the encoder's own, behind the sound."""
        return int.from_bytes(self.tag[DELAY_AND_PADDING]) & 0xFFF

    @property
    def checksum(self) -> int:
        return int.from_bytes(self.tag[MUSIC_CHECKSUM])

    @property
    def silent_frame(self) -> bytes:
        """A frame of the same kind whose side information is all zero: nothing is coded."""
        header = bytes([*self.info[:3], self.info[3] & ~HOW_JOINT])
        return header.ljust(len(self.info), b"\0")

    def pieces(self) -> Iterator[bytes]:
        with self.path.open("rb") as file:
            file.seek(self.first_byte)
            yield from iter(lambda: file.read(CHUNK_BYTES), b"")


class Row:
    """Runs of one kind, with silence between."""

    def __init__(self, placed: Sequence[tuple[int, Run]]) -> None:
        """Each run with the sample where its sound should begin: it does on the nearest frame,
        or right behind the run before it where that lasts longer."""
        self._first, self._last = placed[0][1], placed[-1][1]
        self._silent = self._first.silent_frame
        self._runs: list[tuple[int, Run]] = []  # with the silent frames before it
        self.starts: list[int] = []  # where the sound of each begins, in samples
        self._frames = 0
        self._size = len(self._first.info)
        self._checksum = 0
        for sample, run in placed:
            if run.silent_frame != self._silent:
                raise Mp3Error(f"{run.path} and {self._first.path} are of different kinds")
            rest = max(0, round(sample / FRAME_SAMPLES) - self._frames)
            for _ in range(rest):
                self._count(1, len(self._silent), _checksum(self._silent))
            self.starts.append(self._frames * FRAME_SAMPLES)
            self._count(run.frames, run.size, run.checksum)
            self._runs.append((rest, run))

    def _count(self, frames: int, size: int, checksum: int) -> None:
        self._frames += frames
        self._size += size
        self._checksum = _times(self._checksum, _shift(size)) ^ checksum

    @property
    def samples(self) -> int:
        """What a gapless player plays, to the end of the last run's sound."""
        return self._frames * FRAME_SAMPLES - self._first.delay - self._last.padding

    def pieces(self, tags: Tags) -> Iterator[bytes]:
        """The bytes of the file."""
        yield id3_tag(tags) + self._info()
        for rest, run in self._runs:
            yield from repeat(self._silent, rest)
            yield from run.pieces()

    def _info(self) -> bytes:
        tag = bytearray(self._first.tag)
        tag[FRAMES] = self._frames.to_bytes(4)
        tag[BYTES] = tag[LENGTH] = self._size.to_bytes(4)
        tag[SEEK] = LINEAR
        tag[DELAY_AND_PADDING] = (self._first.delay << 12 | self._last.padding).to_bytes(3)
        tag[MUSIC_CHECKSUM] = self._checksum.to_bytes(2)
        info, start = bytearray(self._first.info), _tag_start(self._first.info)
        info[start : start + TAG_BYTES] = tag
        end = start + OWN_CHECKSUM.start
        info[end : end + 2] = _checksum(bytes(info[:end])).to_bytes(2)
        return bytes(info)


def _tag_start(info: bytes) -> int:
    channels = 1 if len(info) >= HEADER_BYTES and info[3] >> 6 == MONO else 2
    return HEADER_BYTES + SIDE_BYTES[channels]


def _frame_bytes(header: bytes) -> int:
    """Bytes of a frame of MPEG-1 layer III at 44.1 kHz (2.4.3.1)."""
    return 144_000 * KBPS[header[2] >> 4] // 44_100 + (header[2] >> 1 & 1)


@cache
def _checksum(content: bytes) -> int:
    found = 0
    for byte in content:
        found ^= byte
        for _ in range(8):
            found = found >> 1 ^ (POLYNOMIAL if found & 1 else 0)
    return found


def _times(one: int, other: int) -> int:
    """The product of two polynomials, modulo that of the checksum."""
    product = 0
    for bit in range(CHECKSUM_BITS):
        if one & ONE >> bit:
            product ^= other
        other = other >> 1 ^ (POLYNOMIAL if other & 1 else 0)
    return product


@cache
def _shift(size: int) -> int:
    """x to the power of 8 x size: what a checksum is multiplied by as so many bytes follow."""
    power, square, left = ONE, X, 8 * size
    while left:
        if left & 1:
            power = _times(power, square)
        square = _times(square, square)
        left >>= 1
    return power
