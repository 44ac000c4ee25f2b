"""The journal of a folder: lines of JSON that are checked when they are read back.

{"drill": {"title": …, "file": …, "bars": …}, "format": …}    whose folder it is
{"claim": [name, …]}                                          about to be written
{"wrote": {name: [hash, …]}}                                  whole, about to take its place
{"made": what for, "fingerprint": …, "files": {name: [bytes, ns]}, "entry": {…}}
"""

from __future__ import annotations

import json
import os
from collections.abc import Callable, Iterable, Iterator, Mapping
from itertools import count, islice
from pathlib import Path
from typing import Any, BinaryIO, NoReturn, TypeVar

from playalong.errors import reason
from playalong.folder.files import WriteError, open_own, write_bytes, write_text

FORMAT = "playalong record 2"
FIRST_FORMAT = "playalong record 1"  # without hashes of what was written
Line = Mapping[str, Any]
T = TypeVar("T")
LARGEST_BYTES = 16_000_000  # of some ten thousand tracks
LONGEST_LINE_BYTES = 1_000_000
MOST_LINES = 150_000
MOST_DAMAGED = 1_000  # then it is no record any more
NAMES_IN_A_LINE = 1_000
MOST_BRACKETS = 10_000  # in a line; what has more would take seconds to read and is none of ours


class Journal:
    """The file, as it was read and as it grows."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self.is_first_format = False
        self.damaged = False
        self.end = 0  # bytes, up to the last whole line
        self.shared = False  # with another name, through which an append would be seen

    @classmethod
    def read(cls, path: Path, learn: Callable[[Line], None]) -> Journal:
        """Have every sound line of the file learnt; a last line that was cut off is passed over.

        What is larger than any record is damaged, and its rest is not read. Raises WriteError for a
        file that cannot be opened.
        """
        journal = cls(path)
        try:
            with open_own(path, os.O_RDONLY) as file:
                journal.shared = os.fstat(file.fileno()).st_nlink > 1
                journal._read(file, learn)
        except FileNotFoundError:
            pass
        except OSError as error:
            raise WriteError(f"cannot read {path}: {reason(error)}") from error
        return journal

    def _read(self, file: BinaryIO, learn: Callable[[Line], None]) -> None:
        sound = damaged = 0
        while (raw := file.readline(LONGEST_LINE_BYTES)).endswith(b"\n"):
            self.end += len(raw)
            try:
                line = _checked(raw)
            except (ValueError, RecursionError):
                damaged += 1
            else:
                sound += 1
                self.is_first_format |= line.get("format") == FIRST_FORMAT
                learn(line)
            if self.end > LARGEST_BYTES or sound > MOST_LINES or damaged > MOST_DAMAGED:
                break
        is_too_large = raw.endswith(b"\n") or len(raw) == LONGEST_LINE_BYTES
        self.damaged = bool(damaged) or not sound or is_too_large

    def append(self, line: Line) -> None:
        """Add a line where the last whole one ends."""
        raw = _line(line).encode()
        try:
            with open_own(self.path, os.O_WRONLY | os.O_CREAT) as file:
                file.truncate(self.end)
                file.seek(self.end)
                file.write(raw)
        except OSError as error:
            raise WriteError(f"cannot write in {self.path.parent}: {reason(error)}") from error
        self.end += len(raw)

    def write_anew(self, lines: Iterable[Line]) -> None:
        text = "".join(map(_line, lines))
        if not self.path.exists() or self.path.read_bytes() != text.encode():
            write_text(self.path, text)
        self.end, self.shared = len(text.encode()), False

    def set_aside(self) -> Path:
        """Rename the file to a name that is free, which is returned."""
        aside = free_name(self.path)
        try:
            self.path.rename(aside)
        except OSError as error:
            raise WriteError(f"cannot rename {self.path}: {reason(error)}") from error
        self.end, self.shared = 0, False
        return aside


def pieces(names: Iterable[T]) -> Iterator[list[T]]:
    """As many as one line takes at a time."""
    left = iter(names)
    while piece := list(islice(left, NAMES_IN_A_LINE)):
        yield piece


def free_name(path: Path) -> Path:
    """`record.kept-1.jsonl`, or the next number that is free."""
    names = (path.with_name(f"{path.stem}.kept-{n}{path.suffix}") for n in count(1))
    return next(name for name in names if not os.path.lexists(name))


def keep_copy(path: Path, folder: Path) -> None:
    """A copy of a file under a free name in another folder."""
    write_bytes(free_name(folder / path.name), path.read_bytes())


def _line(line: Line) -> str:
    return json.dumps(line, ensure_ascii=False) + "\n"


def _no_number(word: str) -> NoReturn:
    raise ValueError(f"{word} is no number")


def _checked(raw: bytes) -> Line:
    """The line, if it is one of the four kinds. ValueError or RecursionError if not."""
    if raw.count(b"[") + raw.count(b"{") > MOST_BRACKETS:
        raise ValueError("more brackets than a line has")
    line: Line = json.loads(raw.decode("utf-8"), parse_constant=_no_number)
    match line:
        case {"drill": {"title": str(), "file": str(), "bars": str()}, "format": str(format)}:
            sound = format in (FORMAT, FIRST_FORMAT)
        case {"claim": [*names]}:
            sound = all(isinstance(name, str) for name in names)
        case {"wrote": dict(wrote)}:
            sound = all(map(_hashes, wrote.values()))
        case {
            "made": str(),
            "fingerprint": str(),
            "files": dict(files),
            "entry": {"sha256": dict(sha)},
        }:
            sound = _hashes(list(sha.values())) and files.keys() <= sha.keys()
            sound = sound and all(map(_state, files.values()))
        case _:
            sound = False
    if not sound:
        raise ValueError("not a line of a journal")
    _encodable(line)
    return line


def _hashes(value: Any) -> bool:
    return isinstance(value, list) and all(isinstance(each, str) for each in value)


def _state(value: Any) -> bool:
    return isinstance(value, list) and [type(each) for each in value] == [int, int]


def _encodable(line: Line) -> None:
    """JSON can spell half a character, which no file can hold: UnicodeEncodeError."""
    _line(line).encode()
