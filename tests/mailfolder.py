"""A folder as `make` leaves it, with files of any size and no sound: what mail tests need."""

from __future__ import annotations

import json
import random
from collections.abc import Sequence
from email.headerregistry import Address
from pathlib import Path

from playalong.mail.compose import Composed, MailOptions, compose
from playalong.mail.contents import Choice, read_contents

# Four tracks of a few seconds.
SHORT_DRILL = """
title = "Übung <b>eins</b> ♭"
instrument = "violin"
strings = ["A"]
bar = "p1: 1 p3: 1 p1: 2 1"
note = "quarter"
passes = 1
stages = ["listen", "alone"]
tempo = { start = 200, goal = 208 }
click.count_in = 1
session.rest = 0
"""

TO = (Address("", "pupil", "example.org"),)


def short_drill(folder: Path) -> Path:
    """SHORT_DRILL as a file."""
    path = folder / "short.toml"
    path.write_text(SHORT_DRILL, encoding="utf-8")
    return path


def folder_of(
    out: Path,
    sizes: Sequence[int],
    *,
    title: str = "A title",
    session: int = 0,
    sheet: int = 0,
    ending: str = ".mp3",
    key: str = "F major",
) -> Path:
    """Tracks of these sizes in bytes, all of one key and string; sizes of 0 leave a file out."""
    noise = random.Random(1)
    place = f"{key.replace(' ', '-')}/D"
    (out / place).mkdir(parents=True)
    tracks = []
    for number, size in enumerate(sizes, 1):
        stem = f"{place}/{number:02}-{60 + number:03}-listen"
        (out / f"{stem}{ending}").write_bytes(noise.randbytes(size))
        (out / f"{stem}.mid").write_bytes(b"MThd")
        track = {"number": number, "key": key, "string": "D", "bpm": 60 + number}
        track |= {"stage": "listen", "seconds": size / 12_000, "timeline": f"{stem}.timeline.json"}
        track |= {"audio": f"{stem}{ending}", "midi": f"{stem}.mid"}
        tracks.append(track | {"stems": {}, "sha256": {}})
    sessions = []
    if session:
        name = f"{place}/session{ending}"
        (out / name).write_bytes(noise.randbytes(session))
        session_entry = {"key": key, "string": "D", "seconds": 60.0, "audio": name}
        sessions = [session_entry | {"parts": [], "sha256": {}}]
    if sheet:
        (out / "sheet.pdf").write_bytes(noise.randbytes(sheet))
    (out / "read-me-first.txt").write_text("Read me: Grüße\n", encoding="utf-8")
    write_manifest(
        out,
        drill={"title": title, "file": "drill.toml", "sha256": ""},
        tracks=tracks,
        sessions=sessions,
        left_out=[],
        sheet={"pdf": "sheet.pdf"} if sheet else {},
    )
    return out


def write_manifest(out: Path, **fields: object) -> None:
    data = {"format": "playalong manifest 1", **fields}
    (out / "manifest.json").write_text(json.dumps(data), encoding="utf-8")


def composed(out: Path, limit_bytes: int = 20_000_000, choice: Choice | None = None) -> Composed:
    """The folder's mails to one pupil, at the bit rate that the files have."""
    return compose(read_contents(out, choice or Choice()), MailOptions(TO, limit_bytes=limit_bytes))
