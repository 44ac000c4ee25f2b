"""Parcels: what goes into one mail, to the byte, and how large an MP3 is at a bit rate."""

from __future__ import annotations

from pathlib import Path, PurePosixPath

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from mailfolder import folder_of

from playalong.folder.manifest import SessionEntry
from playalong.mail.contents import Choice, Item, read_contents
from playalong.mail.parcels import (
    is_mp3,
    lower_rates,
    megabytes,
    parcels,
    predicted_mp3_bytes,
    rate_kbps,
)
from playalong.sound.audio import write_audio
from playalong.sound.tags import Tags


def test_what_fits_exactly_is_one_mail_and_one_byte_less_makes_two(tmp_path: Path) -> None:
    out = folder_of(tmp_path, [60_000, 60_000])
    items = read_contents(out, Choice()).items

    def weigh(some: object) -> int:
        return sum(item.size_bytes for item in some)  # type: ignore[attr-defined]

    assert len(parcels(items, weigh, 120_000)) == 1
    assert len(parcels(items, weigh, 119_999)) == 2


def sound(path: Path, seconds: float) -> Item:
    session = SessionEntry("F major", "D", seconds, path.name, (), {})
    return Item(path, PurePosixPath(path.name), "session", path.stat().st_size, session=session)


@pytest.mark.parametrize(
    ("size", "said"),
    [
        (0, "0.0 MB"),
        (1, "0.1 MB"),
        (100_000, "0.1 MB"),
        (100_001, "0.2 MB"),
        (20_000_000, "20.0 MB"),
    ],
)
def test_a_size_is_never_said_smaller_than_it_is(size: int, said: str) -> None:
    assert megabytes(size) == said


@pytest.mark.parametrize(
    ("ending", "seconds", "kind"), [(".mp3", 1.0, True), (".mp3", 0.0, False), (".wav", 1.0, False)]
)
def test_only_an_mp3_of_known_length_can_be_made_smaller(
    tmp_path: Path, ending: str, seconds: float, kind: bool
) -> None:
    (tmp_path / f"a{ending}").write_bytes(b"")
    assert is_mp3(sound(tmp_path / f"a{ending}", seconds)) == kind


def test_the_floor_is_64_kbit_and_no_rate_below_is_tried(tmp_path: Path) -> None:
    items = read_contents(folder_of(tmp_path, [120_000]), Choice()).items  # ten seconds: 96 kbit/s
    assert lower_rates(items) == (80, 64)


@settings(max_examples=30)
@given(frames=st.integers(1, 500_000), kbps=st.sampled_from([64, 80, 96]), stereo=st.booleans())
def test_an_mp3_is_never_larger_than_predicted_and_at_most_three_bytes_smaller(
    tmp_path_factory: pytest.TempPathFactory, frames: int, kbps: int, stereo: bool
) -> None:
    path = tmp_path_factory.mktemp("mp3") / "a.mp3"
    channels = 2 if stereo else 1
    sound = np.zeros((frames, channels), np.float32)
    write_audio(path, [sound], format="mp3", channels=channels, tags=Tags(""), bitrate_kbps=kbps)
    assert 0 <= predicted_mp3_bytes(frames / 44_100, kbps, 0) - path.stat().st_size <= 3


def test_a_files_rate_is_what_it_was_encoded_at(tmp_path: Path) -> None:
    seconds = 383 * 1152 / 44_100  # whole frames
    write_audio(
        tmp_path / "a.mp3",
        [np.zeros(383 * 1152, np.float32)],
        format="mp3",
        channels=1,
        tags=Tags(""),
        bitrate_kbps=96,
    )
    assert rate_kbps(sound(tmp_path / "a.mp3", seconds)) == pytest.approx(96, abs=0.05)
