"""Who was sent what: kept beside the set, so that no mail goes out twice.

A mail is written down before its last byte is handed over, and again with the server's answer. One
that has no answer may have arrived, and is not sent again unless somebody says so.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Sequence
from dataclasses import asdict, dataclass, replace
from datetime import datetime
from pathlib import Path

from playalong.errors import PlayalongError
from playalong.folder.files import make_folder, read_json, write_text
from playalong.folder.names import RECORD_FOLDER
from playalong.mail.compose import Mail

FILE = "sent.json"
FORMAT = "playalong sent 1"
LARGEST_BYTES = 16_000_000  # some fifty thousand mails


class SentError(PlayalongError):
    """A list of what was sent that cannot be read, so that nobody knows who would get it twice."""


@dataclass(frozen=True)
class Entry:
    """One mail to one address."""

    address: str
    subject: str
    sha256: str  # of what the mail says and holds, whoever it is to
    time: str  # ISO 8601
    answer: str | None = None  # the server's; None where the line broke before it came

    def __post_init__(self) -> None:
        for value in (self.address, self.subject, self.sha256, self.time, self.answer or ""):
            if not isinstance(value, str):
                raise TypeError

    @property
    def key(self) -> tuple[str, str]:
        return self.address.casefold(), self.sha256


@dataclass(frozen=True)
class Handed:
    """What is known of one mail to one address, and whether an earlier run handed it over."""

    entry: Entry
    before: bool


class Sent:
    """What of a folder was sent; hold the folder's lock while it is used. Without a folder,
    nothing is kept."""

    def __init__(self, folder: Path | None = None, *, again: bool = False) -> None:
        """With `again`, what earlier runs sent is no reason to leave anybody out."""
        self.path = folder / RECORD_FOLDER / FILE if folder else None
        entries = _read(self.path) if self.path else []
        self.entries = {entry.key: entry for entry in entries}
        self.earlier = dict(self.entries)
        self.before = {} if again else self.earlier

    def waiting(self, mail: Mail) -> tuple[str, ...]:
        """Those of its recipients who are still to have it."""
        known = {address.casefold() for address, sha256 in self.before if sha256 == mail.sha256}
        return tuple(each for each in mail.letter.recipients if each.casefold() not in known)

    def unsure(self, mail: Mail) -> tuple[Entry, ...]:
        """What an earlier run handed over without an answer."""
        keys = ((each.casefold(), mail.sha256) for each in mail.letter.recipients)
        known = (self.before[key] for key in keys if key in self.before)
        return tuple(entry for entry in known if entry.answer is None)

    def of(self, mail: Mail) -> tuple[Handed, ...]:
        """What was handed over of a mail, to each of its recipients."""
        keys = [(each.casefold(), mail.sha256) for each in mail.letter.recipients]
        return tuple(
            Handed(self.entries[key], self.entries[key] is self.earlier.get(key))
            for key in keys
            if key in self.entries
        )

    def begin(self, mail: Mail, recipients: Sequence[str]) -> None:
        """From here on these may have it."""
        now = datetime.now().astimezone().isoformat(timespec="seconds")
        self._keep(Entry(each, mail.letter.subject, mail.sha256, now) for each in recipients)

    def answered(self, mail: Mail, recipients: Sequence[str], answer: str) -> None:
        entries = (self.entries[each.casefold(), mail.sha256] for each in recipients)
        self._keep([replace(entry, answer=answer) for entry in entries])

    def refused(self, mail: Mail) -> None:
        """What this run began of it has not arrived; what an earlier one sent stays."""
        for each in mail.letter.recipients:
            key = each.casefold(), mail.sha256
            begun = self.entries.get(key)
            if begun and begun is not self.before.get(key) and begun.answer is None:
                del self.entries[key]
                self._keep([self.earlier[key]] if key in self.earlier else [])

    def _keep(self, entries: Iterable[Entry]) -> None:
        self.entries |= {entry.key: entry for entry in entries}
        self._write()

    def _write(self) -> None:
        if self.path:
            make_folder(self.path.parent)
            data = {"format": FORMAT, "mails": [asdict(each) for each in self.entries.values()]}
            write_text(self.path, json.dumps(data, ensure_ascii=False, indent=1) + "\n")


def _read(path: Path) -> list[Entry]:
    try:
        if not path.exists():
            return []
        data = read_json(path, LARGEST_BYTES, "a list of what was sent")
        if data["format"] == FORMAT:
            return [Entry(**each) for each in data["mails"]]
    except (ValueError, TypeError, KeyError):
        pass
    raise SentError(
        f"{path} should say who was sent what, and cannot be read; move it away, and everybody is "
        "sent their mail anew"
    )
