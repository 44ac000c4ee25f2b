"""The record of a folder: which files playalong made there, and from what.

A journal of JSON lines in OUT/.playalong/. A file is claimed before it is written and recorded
once it is whole, so a build that was stopped at any moment knows its own files from a stranger's,
and the next one goes on where it stood.
"""

from __future__ import annotations

import contextlib
import json
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from playalong.errors import SurroundingsError, reason
from playalong.folder.files import WriteError, make_folder, sha256, write_text

FOLDER = ".playalong"
JOURNAL = "record.jsonl"
LOCK = "lock"
FORMAT = "playalong record 1"


class FolderBusyError(SurroundingsError):
    """Another build is at work in the folder."""


class StrangerError(SurroundingsError):
    """A file stands in the way that playalong did not make, or another drill's."""


@dataclass(frozen=True)
class Made:
    """Something whole: what it was made from, its files' states, and what the manifest says."""

    fingerprint: str
    files: Mapping[str, tuple[int, int]]  # name: bytes, time of change in ns
    entry: Mapping[str, Any]


@dataclass(frozen=True)
class Cleared:
    """Names of files that earlier builds made and the last one did not want."""

    removed: tuple[str, ...] = ()
    left_alone: tuple[str, ...] = ()  # somebody has changed them since


@dataclass
class Record:
    """What is known of one folder. Make it with `opened`, which also locks the folder."""

    out: Path
    drill: Mapping[str, str] = field(default_factory=dict)  # title, file, bars
    made: dict[str, Made] = field(default_factory=dict)  # by what they are for
    claimed: set[str] = field(default_factory=set)

    @classmethod
    def read(cls, out: Path) -> Record:
        """The record as the last build left it; an unfinished last line is passed over."""
        record = cls(out)
        with contextlib.suppress(FileNotFoundError):
            text = (out / FOLDER / JOURNAL).read_text(encoding="utf-8")
            for line in text.splitlines():
                with contextlib.suppress(ValueError, KeyError, TypeError):
                    record._take(json.loads(line))
        return record

    def _take(self, line: Mapping[str, Any]) -> None:
        if "drill" in line:
            self.drill = line["drill"]
        elif "claim" in line:
            self.claimed.update(line["claim"])
        elif "made" in line:
            files = {name: (size, time) for name, (size, time) in line["files"].items()}
            self.made[line["made"]] = Made(line["fingerprint"], files, line["entry"])
            self.claimed.update(files)

    def belongs_to(self, title: str, file: str, bars: str) -> None:
        """StrangerError if the folder holds another drill's tracks: both the file's name and the
        written bars differ."""
        drill = {"title": title, "file": file, "bars": bars}
        if self.drill and file != self.drill["file"] and bars != self.drill["bars"]:
            raise StrangerError(
                f'{self.out} holds the tracks of another drill, "{self.drill["title"]}"; '
                "choose another folder with --out"
            )
        if self.drill != drill:
            self.drill = drill
            self._append({"drill": self.drill, "format": FORMAT})

    def claim(self, names: Iterable[str]) -> None:
        """Say that these files are about to be written; StrangerError where one is not ours."""
        fresh = [name for name in names if name not in self.claimed]
        strangers = [name for name in fresh if (self.out / name).exists()]
        if strangers:
            listed = ", ".join(strangers[:3]) + (" …" if len(strangers) > 3 else "")
            raise StrangerError(
                f"in {self.out} stands what playalong did not make: {listed}; move it away, or "
                "choose another folder with --out"
            )
        if fresh:
            self.claimed.update(fresh)
            self._append({"claim": fresh})

    def add(self, name: str, made: Made) -> None:
        self.made[name] = made
        self._append({"made": name, **_plain(made)})

    def kept(self, name: str, fingerprint: str, *, verify: bool = False) -> Made | None:
        """What an earlier build made for `name` from the same things, if all of it still stands."""
        made = self.made.get(name)
        if made is None or made.fingerprint != fingerprint:
            return None
        return made if all(self._stands(made, file, verify) for file in made.files) else None

    def _stands(self, made: Made, file: str, verify: bool) -> bool:
        """Size and time are enough unless asked; a file only touched is known by its hash."""
        now = state(self.out / file)
        if now is None or now[0] != made.files[file][0]:
            return False
        if now == made.files[file] and not verify:
            return True
        expected: str = made.entry["sha256"][file]
        return sha256(self.out / file) == expected

    def clear(self, wanted: Iterable[str]) -> Cleared:
        """Remove what earlier builds made and this one does not want.

        What somebody has changed since is left alone.
        """
        recorded = {file: at for made in self.made.values() for file, at in made.files.items()}
        removed, left_alone = [], []
        for name in sorted(self.claimed - set(wanted)):
            path = self.out / name
            now = state(path)
            if now is None:
                continue
            if name in recorded and now[0] != recorded[name][0]:
                left_alone.append(name)
                continue
            removed.append(name)
            with contextlib.suppress(OSError):
                path.unlink()
                for parent in list(path.relative_to(self.out).parents)[:-1]:
                    (self.out / parent).rmdir()  # only if it is empty
        return Cleared(tuple(removed), tuple(left_alone))

    def close(self, made: Mapping[str, Made], removed: Iterable[str]) -> None:
        """Write the journal anew with what now stands."""
        self.made = dict(made)
        self.claimed.difference_update(removed)
        lines: list[Mapping[str, Any]] = [{"drill": self.drill, "format": FORMAT}]
        lines.append({"claim": sorted(self.claimed)})
        lines += [{"made": name, **_plain(each)} for name, each in self.made.items()]
        text = "".join(json.dumps(line, ensure_ascii=False) + "\n" for line in lines)
        path = self.out / FOLDER / JOURNAL
        if not path.exists() or path.read_text(encoding="utf-8") != text:
            write_text(path, text)

    def _append(self, line: Mapping[str, Any]) -> None:
        try:
            with (self.out / FOLDER / JOURNAL).open("a", encoding="utf-8") as journal:
                journal.write(json.dumps(line, ensure_ascii=False) + "\n")
        except OSError as error:
            raise WriteError(f"cannot write in {self.out}: {reason(error)}") from error


def state(path: Path) -> tuple[int, int] | None:
    """Size and time of change in ns; None where there is no such file."""
    try:
        found = path.stat()
    except OSError:
        return None
    return found.st_size, found.st_mtime_ns


def states(out: Path, names: Iterable[str]) -> dict[str, tuple[int, int]]:
    """The states of files just written."""
    found = {name: state(out / name) for name in names}
    return {name: now for name, now in found.items() if now is not None}


def _plain(made: Made) -> dict[str, Any]:
    files = {name: list(at) for name, at in made.files.items()}
    return {"fingerprint": made.fingerprint, "files": files, "entry": dict(made.entry)}


@contextlib.contextmanager
def opened(out: Path) -> Iterator[Record]:
    """The folder's record, while no other build can open it; FolderBusyError if one has."""
    from filelock import FileLock, Timeout

    make_folder(out)
    make_folder(out / FOLDER)
    lock = FileLock(out / FOLDER / LOCK)
    try:
        lock.acquire(timeout=0)
    except Timeout:
        raise FolderBusyError(
            f"another build is at work in {out}; wait for it, or choose another folder with --out"
        ) from None
    except OSError as error:
        raise WriteError(f"cannot write in {out}: {reason(error)}") from error
    try:
        yield Record.read(out)
    finally:
        lock.release()
