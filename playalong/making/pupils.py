"""A list of pupils: each one's own set, made and mailed; nobody sees another's address.

The list is a CSV file with a heading, apart by commas, semicolons or tabs:

    address, key, string, start, goal, name, positions

Only `address` must be there; an empty cell leaves what the drill file says. Everything that can
be wrong with a line is found before anything is made.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from email.headerregistry import Address
from pathlib import Path

from playalong.drill.model import Drill
from playalong.drill.origin import DrillError, SettingError
from playalong.drill.variation import Variation, parse_positions
from playalong.errors import PlayalongError, nearest, reason
from playalong.folder.names import safe_name
from playalong.mail.address import LONGEST_NAME, one_line, parse_address, short
from playalong.making.plan import Options, plan_build

OFTEN_WRITTEN = ("mail", "email", "e-mail")  # for "address"
COLUMNS = ("address", "key", "string", "start", "goal", "name", "positions")
VARIED = ("positions", "key", "string")  # one by one, in this order
PLAYED = ("key", "string", "positions")  # what must go together
TEMPI = ("start", "goal")
MOST_PUPILS = 500
MOST_FAULTS = 20  # listed of a file


class PupilsError(PlayalongError):
    """A list of pupils that cannot be used: file, line and value of every fault."""


@dataclass(frozen=True)
class Pupil:
    """One line of the list, checked: who, and the very drill that they get."""

    line: int
    address: Address
    name: str
    drill: Drill
    options: Options
    folder: str  # of their set, and the name of their draft

    @property
    def to(self) -> Address:
        return Address(self.name, self.address.username, self.address.domain)


@dataclass
class _CellError(Exception):
    """What is wrong in a line; `column` is empty where several cells do not go together."""

    column: str
    message: str


def read_pupils(path: Path, drill: Drill, options: Options) -> tuple[Pupil, ...]:
    """Every pupil with their own variation of the drill, playable as planned. Raises PupilsError
    for all faults at once."""
    rows = list(_rows(path))
    if not rows:
        raise PupilsError(f"{path} lists no pupil below its heading")
    if len(rows) > MOST_PUPILS:
        raise PupilsError(f"{path} lists {len(rows)} pupils; {MOST_PUPILS} is the most")
    pupils: list[Pupil] = []
    faults: list[str] = []
    for line, row in rows:
        try:
            pupils.append(_pupil(line, row, drill, options, len(pupils) + 1))
        except _CellError as fault:
            where = f"{fault.column}: " if fault.column else ""
            faults.append(f"{path}, line {line}: {where}{fault.message}")
    if faults:
        more = [f"and {len(faults) - MOST_FAULTS} more"] if len(faults) > MOST_FAULTS else []
        raise PupilsError("\n".join([*faults[:MOST_FAULTS], *more]))
    return tuple(pupils)


def _rows(path: Path) -> Iterator[tuple[int, dict[str, str]]]:
    """Line and cells by column of every line that is not empty."""
    text = _text(path)
    heading = text.partition("\n")[0]
    reader = csv.reader(
        io.StringIO(text, newline=""), delimiter=max(",;\t", key=heading.count), strict=True
    )
    try:
        columns = _columns(path, next(reader, []))
        begins = reader.line_num + 1
        for cells in reader:
            stripped = [cell.strip() for cell in cells]
            if any(stripped[len(columns) :]):
                raise PupilsError(
                    f"{path}, line {begins}: {len(cells)} cells, and the heading has "
                    f"{len(columns)}; a cell with the separator in it stands in double quotes"
                )
            if any(stripped):
                yield begins, dict(zip(columns, stripped, strict=False))
            begins = reader.line_num + 1
    except csv.Error as error:
        raise PupilsError(f"{path}, line {reader.line_num}: {error}") from None


def _text(path: Path) -> str:
    try:
        return path.read_bytes().decode("utf-8-sig")
    except FileNotFoundError:
        raise PupilsError(f"there is no list of pupils {path}") from None
    except OSError as error:
        raise PupilsError(f"cannot read {path}: {reason(error)}") from None
    except UnicodeDecodeError as error:
        line = error.object[: error.start].count(b"\n") + 1
        raise PupilsError(
            f"{path}, line {line}: this is not UTF-8 text; save the list as CSV UTF-8"
        ) from None


def _columns(path: Path, heading: list[str]) -> list[str]:
    columns = [cell.strip().casefold() for cell in heading]
    for column in columns:
        if column not in COLUMNS:
            meant = "address" if column in OFTEN_WRITTEN else column
            raise PupilsError(
                f'{path}, line 1: "{short(column)}" is not a column{nearest(meant, COLUMNS)}'
            )
        if columns.count(column) > 1:
            raise PupilsError(f'{path}, line 1: the column "{column}" stands twice')
    if "address" not in columns:
        raise PupilsError(f'{path}, line 1: the heading has no column "address"')
    return columns


def _pupil(line: int, row: Mapping[str, str], drill: Drill, options: Options, number: int) -> Pupil:
    cells = {column: cell for column, cell in row.items() if cell}
    if "address" not in cells:
        raise _CellError("address", "is empty")
    with _faults_of("address"):
        address = parse_address(cells["address"])
    with _faults_of("name"):
        name = one_line(cells.get("name", address.display_name), "a name")
        if len(name) > LONGEST_NAME:
            raise _CellError("name", f'"{short(name)}" has more than {LONGEST_NAME} characters')
    varied = _drill(drill, cells)
    with _faults_of("", ", ".join(f'"{cells[c]}"' for c in PLAYED if c in cells)):
        plan_build(varied, options)
    folder = f"{number:02}-{safe_name(name or address.username, 'pupil')}"
    return Pupil(line, address, name, varied, options, folder)


def _drill(drill: Drill, cells: Mapping[str, str]) -> Drill:
    """The drill as the line wants it; one cell after the other, so that the wrong one is named."""
    for column in VARIED:
        if column in cells:
            with _faults_of(column):
                drill = _variation(column, cells[column]).of(drill)
    # Start and goal only make sense together, so a fault in one is told with both.
    given = [column for column in TEMPI if column in cells]
    start, goal = (_whole(column, cells.get(column)) for column in TEMPI)
    with _faults_of("start and goal", " to ".join(f'"{cells[column]}"' for column in given)):
        return Variation(start=start, goal=goal).of(drill)


def _variation(column: str, cell: str) -> Variation:
    if column == "positions":
        return Variation(positions=parse_positions(cell))
    return Variation(keys=(cell,)) if column == "key" else Variation(strings=(cell,))


def _whole(column: str, cell: str | None) -> int | None:
    if cell is None:
        return None
    if not (cell.isascii() and cell.isdecimal() and len(cell) < 6):
        raise _CellError(column, f'"{short(cell)}" is not a whole number')
    return int(cell)


@contextmanager
def _faults_of(column: str, shown: str = "") -> Iterator[None]:
    """Turns what is wrong while it lasts into a fault of a column."""
    before = f"{shown}: " if shown else ""
    try:
        yield
    except (DrillError, SettingError) as error:
        # A setting's name is the column's, and a place in the drill is nothing of the list's.
        raise _CellError(column, before + error.message) from None
    except PlayalongError as error:
        raise _CellError(column, before + str(error)) from None
