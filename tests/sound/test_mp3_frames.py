"""MP3 files in a row: each sounds as it does alone, and where it should."""

from __future__ import annotations

import shutil
import subprocess
from collections.abc import Iterator, Sequence
from pathlib import Path

import mutagen.mp3
import numpy as np
import pytest
import soundfile
from numpy.typing import NDArray

from playalong.sound.audio import write_audio
from playalong.sound.mp3_frames import Mp3Error, Row, Run
from playalong.sound.tags import Tags

FRAME = 1152
LENGTHS = (30_000, 1, 44_100, 23_040)  # samples, and so every kind of padding
TAGS = Tags(title="a row", album="♭")
SAME = 2e-7  # of full scale: two units of a float's last place


def encoded(folder: Path, lengths: Sequence[int], kbps: int = 96, channels: int = 1) -> list[Run]:
    """Files of loud noise, which fills the bit reservoir."""
    noise = np.random.default_rng(5)
    runs = []
    for number, length in enumerate(lengths):
        path = folder / f"{number}-{kbps}-{channels}.mp3"
        sound = noise.uniform(-0.5, 0.5, (length, channels)).astype(np.float32)
        write_audio(
            path,
            [sound],
            format="mp3",
            channels=channels,
            tags=Tags(title=f"piece {number}", album="x" * number),
            bitrate_kbps=kbps,
        )
        runs.append(Run.of(path))
    return runs


def written(row: Row, path: Path) -> Path:
    path.write_bytes(b"".join(row.pieces(TAGS)))
    return path


def decoded(path: Path) -> NDArray[np.float32]:
    return soundfile.read(path, dtype="float32", always_2d=True)[0]


@pytest.mark.parametrize(("kbps", "channels"), [(64, 1), (96, 1), (160, 2), (320, 2)])
def test_each_file_sounds_as_it_does_alone_and_begins_where_it_is_said_to(
    kbps: int, channels: int, tmp_path: Path
) -> None:
    runs = encoded(tmp_path, LENGTHS, kbps, channels)
    row = Row([(90_000 * number, run) for number, run in enumerate(runs)])
    sound = decoded(written(row, tmp_path / "row.mp3"))
    assert len(sound) == row.samples == row.starts[-1] + LENGTHS[-1]
    for start, run, length in zip(row.starts, runs, LENGTHS, strict=True):
        assert np.abs(sound[start : start + length] - decoded(run.path)).max() <= SAME


def test_a_file_begins_on_the_frame_nearest_to_its_place(tmp_path: Path) -> None:
    runs = encoded(tmp_path, (2000, 2000, 2000))
    row = Row(list(zip((0, 100 * FRAME + 576, 200 * FRAME + 577), runs, strict=True)))
    assert row.starts == [0, 100 * FRAME, 201 * FRAME]


def test_files_without_room_between_follow_each_other_at_once(tmp_path: Path) -> None:
    """20 frames of sound, half a one before it, and as much behind it as makes them whole."""
    row = Row([(0, run) for run in encoded(tmp_path, (20 * FRAME,) * 3)])
    assert row.starts == [0, 21 * FRAME, 42 * FRAME]


def test_between_two_files_is_silence(tmp_path: Path) -> None:
    runs = encoded(tmp_path, (10_000, 10_000))
    row = Row([(0, runs[0]), (200_000, runs[1])])
    sound = decoded(written(row, tmp_path / "row.mp3"))
    assert not np.any(sound[10_000 + 3 * FRAME : row.starts[1] - FRAME])


def test_one_may_begin_to_listen_anywhere(tmp_path: Path) -> None:
    runs = encoded(tmp_path, LENGTHS)
    path = written(Row([(60_000 * n, run) for n, run in enumerate(runs)]), tmp_path / "row.mp3")
    whole = decoded(path)
    for sample in (1, 29_000, 60_000, 119_900, 121_000, 150_001, 190_000):
        with soundfile.SoundFile(path) as file:
            file.seek(sample)
            heard = file.read(5000, dtype="float32", always_2d=True)
        assert np.abs(heard - whole[sample : sample + 5000]).max() <= SAME


@pytest.mark.skipif(shutil.which("ffmpeg") is None, reason="a second decoder, where there is one")
def test_another_decoder_plays_and_seeks_the_same_without_a_word(tmp_path: Path) -> None:
    runs = encoded(tmp_path, (30_000, 44_100, 23_040))
    row = Row([(60_000 * n, run) for n, run in enumerate(runs)])
    path = written(row, tmp_path / "row.mp3")
    whole = by_ffmpeg(path)
    assert len(whole) == row.samples
    for start, run, length in zip(row.starts, runs, (30_000, 44_100, 23_040), strict=True):
        assert np.array_equal(whole[start : start + length], by_ffmpeg(run.path))
    late = by_ffmpeg(path, "-ss", "2.5")  # in the rest before the last
    assert np.array_equal(late, whole[110_250:])


def by_ffmpeg(path: Path, *options: str) -> NDArray[np.float32]:
    command = ["ffmpeg", "-v", "warning", *options, "-i", str(path), "-f", "f32le", "-"]
    told = subprocess.run(command, capture_output=True, check=True, timeout=60)
    assert told.stderr == b""
    return np.frombuffer(told.stdout, np.float32)


# --- what the file says of itself


def frames_of(content: bytes) -> Iterator[bytes]:
    """Walk from header to header, after ISO/IEC 11172-3, 2.4.2.3; written for this test."""
    at = 0
    while at < len(content):
        sync, rates, _ = content[at : at + 2], content[at + 2], content[at + 3]
        assert sync == b"\xff\xfb"  # MPEG-1, layer III, no checksum of the frame
        kbps = [32, 40, 48, 56, 64, 80, 96, 112, 128, 160, 192, 224, 256, 320][(rates >> 4) - 1]
        assert rates >> 2 & 3 == 0  # 44.1 kHz
        size = 144 * kbps * 1000 // 44_100 + (rates >> 1 & 1)
        yield content[at : at + size]
        at += size
    assert at == len(content)


def crc16(content: bytes) -> int:
    """Bit by bit, the other way round from the code: mirrored bytes, the plain polynomial."""
    found = 0
    for byte in content:
        found ^= int(f"{byte:08b}"[::-1], 2) << 8
        for _ in range(8):
            found = (found << 1 ^ (0x18005 if found & 0x8000 else 0)) & 0x1FFFF
    return int(f"{found:016b}"[::-1], 2)


def test_the_checksum_here_is_the_published_one() -> None:
    """CRC-16/ARC of "123456789" is BB3D: catalogue of parametrised CRC algorithms (from memory)."""
    assert crc16(b"123456789") == 0xBB3D


@pytest.mark.parametrize(("kbps", "channels", "tag_at"), [(96, 1, 21), (160, 2, 36)])
def test_frames_bytes_and_checksums_are_those_of_the_file(
    kbps: int, channels: int, tag_at: int, tmp_path: Path
) -> None:
    runs = encoded(tmp_path, (3000, 5000), kbps, channels)
    path = written(Row([(0, runs[0]), (20_000, runs[1])]), tmp_path / "row.mp3")
    content = path.read_bytes()
    music = content[mutagen.id3.ID3(path).size :]
    info, *frames = frames_of(music)
    tag = info[tag_at:]
    assert tag[:4] == b"Info"
    assert int.from_bytes(tag[8:12]) == len(frames)
    assert int.from_bytes(tag[12:16]) == int.from_bytes(tag[148:152]) == len(music)
    assert int.from_bytes(tag[152:154]) == crc16(b"".join(frames))
    assert int.from_bytes(tag[154:156]) == crc16(info[: tag_at + 154])


def test_another_reader_finds_its_length_rate_and_title(tmp_path: Path) -> None:
    row = Row([(100_000 * n, run) for n, run in enumerate(encoded(tmp_path, LENGTHS))])
    told = mutagen.mp3.MP3(written(row, tmp_path / "row.mp3"))
    assert told.info.length == pytest.approx(row.samples / 44_100, abs=1e-6)
    assert told.info.bitrate_mode == mutagen.mp3.BitrateMode.CBR
    assert told.info.bitrate == pytest.approx(96_000, rel=0.01)
    assert str(told["TIT2"]) == "a row"


def test_files_of_two_kinds_are_not_set_in_a_row(tmp_path: Path) -> None:
    (one,), (two,) = encoded(tmp_path, (500,)), encoded(tmp_path, (500,), kbps=128)
    with pytest.raises(Mp3Error, match="are of different kinds"):
        Row([(0, one), (0, two)])


@pytest.mark.parametrize("cut", [slice(0, 0), slice(0, 3), slice(0, 300), slice(0, -1)])
def test_a_file_that_is_not_as_it_was_written_is_told(cut: slice, tmp_path: Path) -> None:
    (run,) = encoded(tmp_path, (500,))
    run.path.write_bytes(run.path.read_bytes()[cut])
    with pytest.raises(Mp3Error, match="has changed since it was made; build with --verify"):
        Run.of(run.path)


def test_a_file_that_is_gone_is_told(tmp_path: Path) -> None:
    with pytest.raises(Mp3Error, match=r"cannot read .*gone\.mp3: .*; build again"):
        Run.of(tmp_path / "gone.mp3")
