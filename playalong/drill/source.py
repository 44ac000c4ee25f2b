"""The text of a drill file: reading it whole, and finding the line where a setting stands."""

from __future__ import annotations

import hashlib
import re
import tomllib
from bisect import bisect_right
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import Any

from playalong.drill.origin import DrillError, Locate, Origin

LARGEST_BYTES = 256 * 1024  # a thousand times a usual drill
DEEP_NAME = re.compile(r"(?<![\w\"'-])(?:[\w\"'-]++\s*+\.\s*+){64}")  # from a word's beginning on
TOML_REASONS = (  # what tomllib says, and what a person understands
    ("Cannot (overwrite|declare|mutate|redefine)", "this name stands twice; keep one of the two"),
    (r"Illegal character '\\n'|Unterminated string", "the text has no double quote at its end"),
    ("Unclosed array", "the list has no ] at its end"),
    ("Unclosed inline table", "the table has no } at its end"),
    ("Invalid value", "no text in quotes, number, list, true or false after the ="),
)


@dataclass(frozen=True)
class Source:
    """A drill file as read: its name, its text, and the text as TOML data."""

    file: str
    text: str
    data: dict[str, Any]
    sha256: str

    @classmethod
    def read(cls, path: Path) -> Source:
        """Read a drill file; DrillError if it is missing, no text, too large or not TOML."""
        try:
            if path.is_dir():
                raise DrillError(path, None, _folder_message(path))
            if path.exists() and not path.is_file():
                raise DrillError(path, None, "this is no file; a drill is read from a text file")
            with path.open("rb") as file:
                raw = file.read(LARGEST_BYTES + 1)
            if len(raw) > LARGEST_BYTES:
                size = path.stat().st_size
                message = (
                    f"this file has {size:,} bytes; a drill file has {LARGEST_BYTES:,} at most"
                )
                raise DrillError(path, None, message)
        except FileNotFoundError:
            raise DrillError(path, None, _missing_message(path)) from None
        except OSError as error:
            message = f"cannot be read: {error.strerror or error}"
            raise DrillError(path, None, message) from None
        return cls.parse(raw, path)

    @classmethod
    def parse(cls, raw: bytes, name: Path | str) -> Source:
        try:
            text = raw.decode("utf-8-sig")
        except UnicodeDecodeError as error:
            line = raw.count(b"\n", 0, error.start) + 1
            message = (
                f"byte 0x{raw[error.start]:02x} is not UTF-8 text; save the file as UTF-8 "
                "in your editor"
            )
            raise DrillError(name, line, message) from None
        text = text.replace("\r\n", "\n")
        if deep := DEEP_NAME.search(text):  # tomllib's time grows with the cube of its parts
            line = text.count("\n", 0, deep.start()) + 1
            raise DrillError(name, line, "a name with so many dots in it is not known here")
        try:
            data = tomllib.loads(text)
        except ValueError as error:  # TOMLDecodeError, or a whole number of 4,300 digits
            raise DrillError(name, *_toml_message(error, text)) from None
        except RecursionError:
            raise DrillError(name, None, "the brackets are nested too deep") from None
        if not data:
            message = "the file holds no setting; a drill needs at least title, instrument and bar"
            raise DrillError(name, None, message)
        return cls(str(name), text, data, hashlib.sha256(raw).hexdigest())

    @cached_property
    def _lines(self) -> list[str]:
        return self.text.split("\n")

    @cached_property
    def _line_numbers(self) -> dict[str, int]:
        """The line on which each setting and table first stands, by dotted name."""
        found: dict[str, int] = {}
        table = ""
        for number, line in enumerate(self._lines, 1):
            bare = line.strip()
            if bare.startswith("["):
                name = _plain(bare.lstrip("[").partition("]")[0])
                table = name + "."
                found.setdefault(name, number)
            elif "=" in bare:
                found.setdefault(table + _plain(bare.partition("=")[0]), number)
        return found

    def line_of(self, dotted: str, value: object = None) -> int | None:
        """Line of a setting such as ``tempo.start``; of one value in its list where given."""
        number = self._line_numbers.get(dotted)
        if number is not None:
            return number + _lines_down(self._lines[number - 1 :], value)
        outer, _, last = dotted.rpartition(".")  # in an inline table
        number = self._line_numbers.get(outer)
        return number if number and last in self._lines[number - 1] else None

    def locator(self, setting: str) -> Locate:
        """Where the words of a text setting stand, by their offset in its value."""
        first, value = self.line_of(setting), self.data[setting]
        opening = self._lines[first - 1] if first else ""
        quotes = re.search(r"=\s*(\"\"\"|'''|[\"'])(\\?\s*$)?", opening)
        starts_below = bool(quotes and len(quotes[1]) == 3 and quotes[2] is not None)
        indent = quotes.end(1) if quotes and not starts_below else 0
        starts = [0, *(match.end() for match in re.finditer("\n", value))]

        def locate(word: str, offset: int) -> Origin:
            if first is None:
                return Origin(word, self.file)
            lines_down = bisect_right(starts, offset) - 1
            column = offset - starts[lines_down] + 1
            on_first_line = not lines_down and not starts_below
            line = first + starts_below + lines_down
            return Origin(word, self.file, line, column + (indent if on_first_line else 0))

        return locate


def _plain(name: str) -> str:
    """A dotted TOML name without quotes and spaces."""
    return ".".join(part.strip().strip("\"'") for part in name.split("."))


def _lines_down(lines: list[str], value: object) -> int:
    """How many lines below the name a list's value stands; 0 where it is not found."""
    for down, line in enumerate(lines):
        if isinstance(value, str) and re.search(f"[\"']{re.escape(value)}[\"']", line):
            return down
        if "]" in line:
            break
    return 0


def _toml_message(error: ValueError, text: str) -> tuple[int | None, str]:
    match = re.search(r"\(at line (\d+), column \d+\)|\(at end of document\)", str(error))
    line = None
    if match:
        line = int(match[1]) if match[1] else max(1, len(text.rstrip("\n").split("\n")))
    reason = re.sub(r"\s*\(at .*\)$", "", str(error)).strip()
    if line is None:
        return None, "a number in this file is too long"
    words = text.split("\n")[line - 1].strip()[:60]
    reason = next((r for found, r in TOML_REASONS if re.search(found, str(error))), reason)
    if re.search(r"=\s*\[?\s*[“”„‟‘’«»]", words):
        reason = "text stands between straight double quotes, not curly ones"
    elif re.fullmatch(r"[\w.]+\s*=\s*[A-Za-z].*", words):
        reason = 'text stands in double quotes: name = "words"'
    return line, f'"{words}" is not TOML: {reason[0].lower() + reason[1:]}'


def _folder_message(path: Path) -> str:
    drills = sorted(path.glob("*.toml"))
    offer = f', for instance "{drills[0]}"' if drills else ""
    return f"this is a folder; name a drill file{offer}"


def _missing_message(path: Path) -> str:
    beside = sorted(p.name for p in path.parent.glob("*.toml")) if path.parent.is_dir() else []
    if path.name + ".toml" in beside:
        return f'there is no such file; did you mean "{path}.toml"?'
    offer = f"; beside it stand {', '.join(beside[:5])}" if beside else ""
    return f'there is no such file{offer}; "playalong new {path.name}" writes a starter drill'
