"""The record of a folder: which files playalong made there, and from what.

A file is claimed before it is written, its hash is noted before it takes its place, and it is
recorded once all that belongs to it is whole. So a build that was stopped at any moment knows its
own files, and the next one goes on where it stood. What stands and has no hash of ours is
somebody's: it is never replaced and never removed.
"""

from __future__ import annotations

import contextlib
import os
import threading
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path, PurePosixPath

from playalong.errors import SurroundingsError
from playalong.folder.files import LinkError, is_plain_file, sha256
from playalong.folder.inside import few, link_on_the_way, may_be_ours, quoted
from playalong.folder.journal import FORMAT, Journal, Line, keep_copy, pieces
from playalong.folder.lock import locked
from playalong.folder.made import Cleared, Made, hash_of, state
from playalong.folder.manifest import Manifest, ManifestError
from playalong.folder.names import MANIFEST_FILE, RECORD_FOLDER, beside

JOURNAL = "record.jsonl"


class StrangerError(SurroundingsError):
    """A file stands in the way that playalong did not make, or another drill's."""


@dataclass
class Record:
    """What is known of one folder. Make it with `opened`, which also locks the folder."""

    out: Path
    drill: Mapping[str, str] = field(default_factory=dict)  # title, file, bars
    made: dict[str, Made] = field(default_factory=dict)  # by what they are for
    claimed: set[str] = field(default_factory=set)
    hashes: dict[str, list[str]] = field(default_factory=dict)  # of what we wrote, by name
    changed: dict[str, str] = field(default_factory=dict)  # somebody's files: where ours stand
    remarks: list[str] = field(default_factory=list)  # what the person should know

    def __post_init__(self) -> None:
        self._journal = Journal(self.out / RECORD_FOLDER / JOURNAL)
        self._lock = threading.Lock()
        self._states: dict[str, tuple[int, int]] = {}  # as they were left

    @classmethod
    def read(cls, out: Path) -> Record:
        """The record as the last build left it."""
        record = cls(out)
        passed_over: set[str] = set()

        def learn(line: Line) -> None:
            passed_over.update(record._take(line))

        record._journal = Journal.read(record._journal.path, learn)
        if passed_over:
            names = few([quoted(name) for name in sorted(passed_over)])
            record.remarks.append(
                f"the record of {out} names what cannot be a file of it: {names}; ignored"
            )
        return record

    def mend(self) -> None:
        """Put a damaged record aside, and make it anew from its sound lines and the manifest."""
        first = self._journal.is_first_format
        if self._journal.damaged:
            aside = self._journal.set_aside()
            self.remarks.append(
                f"the record of {self.out} was damaged; it is kept as "
                f"{RECORD_FOLDER}/{aside.name}, and was made anew from what stands"
            )
        if self._journal.damaged or first:
            self._take_manifest()
        if self._journal.damaged or first or self._journal.shared:
            self._journal.write_anew(self._lines())

    def _take_manifest(self) -> None:
        """What the manifest lists is claimed, and ours where it has the hash that it says."""
        path = self.out / MANIFEST_FILE
        if not is_plain_file(path):
            return
        try:
            manifest = Manifest.read(self.out)
            manifest.json().encode()  # JSON can spell half a character, which no file can hold
        except (ManifestError, UnicodeEncodeError):
            return
        if sha256(path) not in self.hashes.get(MANIFEST_FILE, ()):
            keep_copy(path, self.out / RECORD_FOLDER)
        self._know(MANIFEST_FILE, sha256(path))
        for name, sha in manifest.hashes.items():
            if may_be_ours(name):
                self._know(name, sha)
        if not self.drill:
            self.drill = {"title": manifest.title, "file": manifest.drill_file, "bars": ""}

    def _take(self, line: Line) -> set[str]:
        """Learn what a line says; returns the names in it that are no names."""
        if "drill" in line:
            self.drill = {name: line["drill"][name] for name in ("title", "file", "bars")}
            return set()
        if "made" in line:
            made = Made.of(line)
            bad = {name for name in (*made.files, *made.sha256) if not may_be_ours(name)}
            if not bad:
                self._learn(line["made"], made)
            return bad
        wrote: Mapping[str, list[str]] = line.get("wrote", {})
        names = {*line.get("claim", ()), *wrote}
        bad = {name for name in names if not may_be_ours(name)}
        self.claimed |= names - bad
        for name in wrote.keys() - bad:
            self._know(name, *wrote[name])
        return bad

    def _know(self, name: str, *hashes: str) -> None:
        self.claimed.add(name)
        known = self.hashes.setdefault(name, [])
        known += [sha for sha in hashes if sha not in known]

    def _learn(self, name: str, made: Made) -> None:
        self.made[name] = made
        self._states.update(made.files)
        for file in made.files:
            self._know(file, made.sha256[file])

    def belongs_to(self, title: str, file: str, bars: str) -> None:
        """StrangerError if the folder holds another drill's tracks: both the file's name and the
        written bars differ."""
        drill = {"title": title, "file": file, "bars": bars}
        if self.drill and file != self.drill["file"] and bars != self.drill["bars"]:
            raise StrangerError(
                f"{self.out} holds the tracks of another drill, {quoted(self.drill['title'])}; "
                "choose another folder with --out"
            )
        if self.drill != drill:
            self.drill = drill
            self._journal.append({"drill": self.drill, "format": FORMAT})

    def claim(self, names: Iterable[str]) -> None:
        """Say that these files are about to be written; StrangerError where one is not ours, and
        LinkError where a link leads to it."""
        names = list(names)
        for name in names:
            if link := link_on_the_way(self.out, name):
                raise LinkError(self.out / link)
        fresh = [name for name in names if name not in self.claimed]
        strangers = [name for name in fresh if os.path.lexists(self.out / name)]
        if strangers:
            raise StrangerError(self._in_the_way(strangers))
        if fresh:
            self.claimed.update(fresh)
            for piece in pieces(fresh):
                self._journal.append({"claim": piece})

    def _in_the_way(self, names: list[str]) -> str:
        return (
            f"in {self.out} stands what playalong did not make: {few(names)}; move it away, or "
            "choose another folder with --out"
        )

    def settle(self, path: Path, sha: str) -> Path:
        """Where a whole file of that hash goes: beside its place if somebody's file stands there.

        Its hash is noted, so that it is known as ours from the moment it stands.
        """
        name = path.relative_to(self.out).as_posix()
        with self._lock:
            if self._is_somebodys(name, sha):
                self.changed[name] = beside(name)
                name = beside(name)
                if self._is_somebodys(name, sha):
                    raise StrangerError(self._in_the_way([name]))
            self._know(name, sha)
            self._journal.append({"wrote": {name: [sha]}})
        return self.out / name

    def _is_somebodys(self, name: str, sha: str = "") -> bool:
        """Whether a file stands there that we did not write, and that is not of that hash."""
        path = self.out / name
        if not os.path.lexists(path):
            return False
        if name in self._states and self._states[name] == state(path):
            return False
        found = hash_of(path)
        return found is None or found not in (sha, *self.hashes.get(name, ()))

    def add(self, name: str, made: Made) -> None:
        self._learn(name, made)
        with self._lock:
            self._journal.append({"made": name, **made.data()})

    def states(self, names: Iterable[str]) -> dict[str, tuple[int, int]]:
        """The states of files just written, by their names, wherever they were settled."""
        found = {name: state(self.out / self.changed.get(name, name)) for name in names}
        return {name: now for name, now in found.items() if now is not None}

    def kept(self, name: str, fingerprint: str, *, verify: bool = False) -> Made | None:
        """What an earlier build made for `name` from the same things, if all of it still stands."""
        made = self.made.get(name)
        if made is None or made.fingerprint != fingerprint:
            return None
        stand = (self.stands(f, made.sha256[f], at, verify) for f, at in made.files.items())
        return made if all(stand) else None

    def stands(
        self, name: str, sha: str, at: tuple[int, int] | None = None, verify: bool = False
    ) -> bool:
        """Whether a file of ours stands as it was, or beside one that somebody has changed.

        Size and time are enough unless asked; a file only touched is known by its hash.
        """
        path = self.out / name
        if link_on_the_way(self.out, name):
            return False
        if at and state(path) == at and not verify:
            return True
        if hash_of(path) == sha:
            self._know(name, sha)
            return True
        if self._is_somebodys(name) and hash_of(self.out / beside(name)) == sha:
            self.changed[name] = beside(name)
            return True
        return False

    def clear(self, wanted: Iterable[str]) -> Cleared:
        """Remove what earlier builds made and this one does not want.

        What somebody has changed since is left alone.
        """
        removed, left_alone = [], []
        for name in sorted(self.claimed - set(wanted) - set(self.changed.values())):
            path = self.out / name
            if not os.path.lexists(path):
                continue
            if link_on_the_way(self.out, name) or self._is_somebodys(name):
                left_alone.append(name)
                continue
            removed.append(name)
            with contextlib.suppress(OSError):
                path.unlink()
                for parent in PurePosixPath(name).parents[:-1]:
                    (self.out / parent).rmdir()  # only if it is empty
        return Cleared(tuple(removed), tuple(left_alone))

    def close(self, made: Mapping[str, Made], removed: Iterable[str]) -> None:
        """Write the journal anew with what now stands."""
        self.made = dict(made)
        self.claimed.difference_update(removed)
        in_entries = {file for each in self.made.values() for file in each.files}
        self.hashes = {
            name: hashes[-1:]
            for name, hashes in self.hashes.items()
            if name in self.claimed - in_entries
        }
        self._journal.write_anew(self._lines())

    def _lines(self) -> Iterator[Line]:
        """All that is known, as short as it can be told."""
        if self.drill:
            yield {"drill": self.drill, "format": FORMAT}
        for piece in pieces(sorted(self.claimed)) if self.claimed else [[]]:
            yield {"claim": piece}
        for hashes in pieces(sorted(self.hashes.items())):
            yield {"wrote": dict(hashes)}
        for name, each in self.made.items():
            yield {"made": name, **each.data()}


@contextlib.contextmanager
def opened(out: Path) -> Iterator[Record]:
    """The folder's record, while no other build can open it; FolderBusyError if one has."""
    with locked(out):
        record = Record.read(out)
        record.mend()
        yield record
