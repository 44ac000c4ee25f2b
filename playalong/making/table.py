"""The list of pupils as spreadsheets save it: CSV in their encodings, apart by their signs."""

from __future__ import annotations

import csv
import io
import re
from codecs import BOM_UTF8, BOM_UTF16_BE, BOM_UTF16_LE
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from playalong.errors import PlayalongError, nearest, short, shown
from playalong.folder.files import read_bounded

LARGEST_BYTES = 256 * 1024  # some 500 for each of the most pupils
MARKS = {BOM_UTF8: "utf-8-sig", BOM_UTF16_LE: "utf-16", BOM_UTF16_BE: "utf-16"}
SEPARATORS = ",;\t"
SEPARATOR_LINE = re.compile(r'"?sep=(.)"?[,;\t]*', re.IGNORECASE)
LINE_END = re.compile(r"\r\n?|\n")


class PupilsError(PlayalongError):
    """A list of pupils that cannot be used: file, line and value of every fault."""


@dataclass(frozen=True)
class Row:
    line: int
    cells: dict[str, str]  # by column, those that are not empty
    fault: str = ""  # what is wrong with the row as such, whose cells then mean nothing


@dataclass(frozen=True)
class Table:
    rows: tuple[Row, ...]
    remark: str = ""  # what should be known before it is used


def read_table(path: Path, columns: Sequence[str], also: dict[str, str], most_rows: int) -> Table:
    """Every line that is not empty, below a heading of some of these columns. `also` are other
    words for a column, which are no columns. Limits come first, then the heading."""
    text, remark = _text(path)
    first = LINE_END.split(text, maxsplit=1)
    skipped = 0
    separator = max(SEPARATORS, key=first[0].count)
    if named := SEPARATOR_LINE.fullmatch(first[0]):
        separator, text, skipped = named[1], "".join(first[1:]), 1
        if separator not in SEPARATORS:
            raise PupilsError(
                f'{path}, line 1: cells stand apart by commas, semicolons or tabs, not "'
                f'{shown(separator)}"'
            )
    lines = list(_lines(path, text, separator, skipped))
    heading = lines[0][1] if lines else []
    rows = lines[1:]
    if len(rows) > most_rows:
        raise PupilsError(f"{path} lists {len(rows)} pupils; {most_rows} is the most")
    names = _heading(path, skipped + 1, heading, columns, also)
    return Table(tuple(_row(line, cells, names) for line, cells in rows), remark)


def _text(path: Path) -> tuple[str, str]:
    """The text, and a remark where its encoding was guessed."""
    content = read_bounded(path, LARGEST_BYTES, "a list of pupils")
    encoding = next((name for mark, name in MARKS.items() if content.startswith(mark)), "utf-8")
    remark = ""
    try:
        text = content.decode(encoding)
    except UnicodeDecodeError as error:
        line = content[: error.start].count(b"\n") + 1
        try:
            text = content.decode("cp1252") if encoding == "utf-8" else "\0"
        except UnicodeDecodeError:
            text = "\0"
        remark = (
            f"{path}, line {line}: this is not UTF-8, and was read as the Western European text of "
            "Windows (code page 1252); look at the names, or save the list as CSV UTF-8"
        )
    if "\0" in text:
        raise PupilsError(f"{path} is not text that can be read; save the list as CSV UTF-8")
    return text, remark


def _lines(path: Path, text: str, separator: str, skipped: int) -> Iterator[tuple[int, list[str]]]:
    """The heading, and the cells of every line that is not empty, with the number of the line."""
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=True)
    begins = skipped + 1
    try:
        for number, cells in enumerate(reader):
            stripped = [cell.strip() for cell in cells]
            if number == 0 or any(stripped):
                yield begins, stripped
            begins = skipped + reader.line_num + 1
    except csv.Error as error:
        raise PupilsError(f"{path}, line {skipped + reader.line_num}: {error}") from None


def _heading(
    path: Path, line: int, heading: list[str], columns: Sequence[str], also: dict[str, str]
) -> list[str]:
    """The names of the columns; those without one at the end are none."""
    names = [cell.casefold() for cell in heading]
    while names and not names[-1]:
        names.pop()
    where = f"{path}, line {line}"
    if len(names) > 2 * len(columns):
        raise PupilsError(f"{where}: {len(names)} columns; {len(columns)} is the most")
    faults = []
    for at, name in enumerate(names):
        if name not in columns:
            hint = nearest(also.get(name, short(name)), columns)
            faults.append(f'{where}: "{shown(short(name))}" is not a column{hint}')
        elif name in names[:at]:
            faults.append(f'{where}: the column "{name}" stands twice')
    if columns[0] not in names and not faults:
        faults.append(f'{where}: the heading has no column "{columns[0]}"')
    if faults:
        raise PupilsError("\n".join(faults))
    return names


def _row(line: int, cells: list[str], names: list[str]) -> Row:
    if any(cells[len(names) :]):
        fault = (
            f"{len(cells)} cells, and the heading has {len(names)}; a cell with the separator in "
            "it stands in double quotes"
        )
        return Row(line, {}, fault)
    return Row(line, {name: cell for name, cell in zip(names, cells, strict=False) if cell})
