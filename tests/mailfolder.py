"""A folder as `make` leaves it, with files of any size and no sound: what mail tests need."""

from __future__ import annotations

import json
import random
from collections.abc import Sequence
from email.headerregistry import Address
from pathlib import Path

from playalong.mail.compose import Composed, Envelope, compose
from playalong.mail.contents import Choice, read_contents

TO = (Address("", "pupil", "example.org"),)


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
        track |= {"stage": "listen", "seconds": size / 12_000}
        tracks.append(track | {"audio": f"{stem}{ending}", "midi": f"{stem}.mid"})
    sessions = []
    if session:
        name = f"{place}/session{ending}"
        (out / name).write_bytes(noise.randbytes(session))
        sessions = [{"key": key, "string": "D", "seconds": 60.0, "audio": name}]
    if sheet:
        (out / "sheet.pdf").write_bytes(noise.randbytes(sheet))
    (out / "read-me-first.txt").write_text("Read me: Grüße\n", encoding="utf-8")
    write_manifest(
        out,
        drill={"title": title},
        tracks=tracks,
        sessions=sessions,
        sheet={"pdf": "sheet.pdf"} if sheet else {},
    )
    return out


def write_manifest(out: Path, **fields: object) -> None:
    data = {"format": "playalong manifest 1", **fields}
    (out / "manifest.json").write_text(json.dumps(data), encoding="utf-8")


def composed(out: Path, limit_bytes: int = 20_000_000, choice: Choice | None = None) -> Composed:
    """The folder's mails to one pupil, at the bit rate that the files have."""
    return compose(read_contents(out, choice or Choice()), Envelope(TO, limit_bytes=limit_bytes))
