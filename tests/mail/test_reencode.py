"""Tracks made smaller from the files themselves."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import soundfile
from mailfolder import short_drill
from mutagen.mp3 import MP3

from playalong.drill.load import load
from playalong.mail.contents import Choice, read_contents
from playalong.mail.parcels import is_mp3
from playalong.mail.reencode import reencode
from playalong.making.make import make
from playalong.making.plan import Options
from playalong.shipped import own_bank


def test_a_lower_bit_rate_keeps_frames_tags_and_sound(tmp_path: Path) -> None:
    out = tmp_path / "out"
    make(load(short_drill(tmp_path)), out, Options(own_bank()))
    items = [item for item in read_contents(out, Choice()).items if is_mp3(item)]
    for before, after in zip(items, reencode(items, 64, tmp_path / "smaller"), strict=True):
        (old, rate), (new, _) = soundfile.read(before.path), soundfile.read(after.path)
        assert len(old) == len(new)
        assert round(MP3(after.path).info.bitrate / 1000) == 64
        assert MP3(after.path).tags.items() == MP3(before.path).tags.items()
        # MP3 has no bit-exact standard of quality: 20 dB below the sound is this test's own bound
        # for "the same music, in the same place".
        assert rate == 44_100
        assert np.sum((old - new) ** 2) < 0.01 * np.sum(old**2)
