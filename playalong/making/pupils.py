"""A list of pupils: each one's own set, made and mailed; nobody sees another's address.

The list is a CSV file (`making/table`) with a heading:

    address, key, string, start, goal, name, positions

Only `address` must be there; an empty cell leaves what the drill file says. Everything that can
be wrong with a line is found before anything is made.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from email.headerregistry import Address
from pathlib import Path

from playalong.drill.model import Drill
from playalong.drill.origin import DrillError, SettingError
from playalong.drill.variation import Variation, parse_positions
from playalong.errors import PlayalongError, short, shown
from playalong.folder.names import safe_name
from playalong.mail.address import LONGEST_NAME, one_line, parse_address
from playalong.making.plan import Options, plan_build
from playalong.making.table import PupilsError, Row, read_table

OFTEN_WRITTEN = dict.fromkeys(("mail", "email", "e-mail"), "address")
COLUMNS = ("address", "key", "string", "start", "goal", "name", "positions")
VARIED = ("positions", "key", "string")  # one by one, in this order
PLAYED = ("key", "string", "positions")  # what must go together
TEMPI = ("start", "goal")
MOST_PUPILS = 500
MOST_FAULTS = 20  # listed of a file
LONGEST_FAULT = 400  # characters
LOCATED = (DrillError, SettingError)
WHOLE_NUMBER = re.compile(r"[0-9]{1,5}")


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


def read_pupils(
    path: Path,
    drill: Drill,
    options: Options,
    *,
    shared_addresses: bool = False,
    tell: Callable[[str], None] = lambda remark: None,
) -> tuple[Pupil, ...]:
    """Every pupil with their own variation of the drill, playable as planned. Raises PupilsError
    for all faults at once. An address stands in one line, unless several pupils may share it."""
    table = read_table(path, COLUMNS, OFTEN_WRITTEN, MOST_PUPILS)
    if not table.rows:
        raise PupilsError(f"{path} lists no pupil below its heading")
    if table.remark:
        tell(table.remark)
    pupils: list[Pupil] = []
    faults: list[str] = []
    lines: dict[str, int] = {}  # where an address stands first
    for number, row in enumerate(table.rows, 1):
        reader = _Reader(row, drill, options)
        pupil = reader.pupil(number)
        if reader.address and not shared_addresses:
            first = lines.setdefault(reader.address.addr_spec.casefold(), row.line)
            if first != row.line:
                reader.fault(
                    "address",
                    f'"{reader.address.addr_spec}" stands in line {first} too; is it twice the '
                    "same pupil? If several pupils have one address, add --shared-addresses",
                )
        faults += [f"{path}, line {row.line}: {fault}" for fault in reader.faults]
        if pupil:
            pupils.append(pupil)
    if faults:
        more = [f"and {len(faults) - MOST_FAULTS} more"] if len(faults) > MOST_FAULTS else []
        raise PupilsError("\n".join([*faults[:MOST_FAULTS], *more]))
    return tuple(pupils)


@dataclass
class _Reader:
    """One row as it is read: every fault in it is kept, and the reading goes on."""

    row: Row
    drill: Drill  # as the row wants it, so far
    options: Options
    address: Address | None = None
    faults: list[str] = field(default_factory=list)

    def pupil(self, number: int) -> Pupil | None:
        if self.row.fault:
            self.fault("", self.row.fault)
            return None
        cells = self.row.cells
        name = self.who()
        self.vary()
        if not self.faults:
            played = ", ".join(f'"{cells[column]}"' for column in PLAYED if column in cells)
            with self.faults_of("", played):
                plan_build(self.drill, self.options)
        if self.faults or not self.address:
            return None
        folder = f"{number:02}-{safe_name(name or self.address.username, 'pupil')}"
        return Pupil(self.row.line, self.address, name, self.drill, self.options, folder)

    def who(self) -> str:
        cells, name = self.row.cells, self.row.cells.get("name", "")
        if "address" not in cells:
            self.fault("address", "is empty")
        else:
            with self.faults_of("address"):
                self.address = parse_address(cells["address"])
                name = name or self.address.display_name
        if len(name) > LONGEST_NAME:
            self.fault("name", f'"{short(name)}" has more than {LONGEST_NAME} characters')
        with self.faults_of("name"):
            one_line(name, "a name")
        return name

    def vary(self) -> None:
        """One cell after the other, so that the wrong ones are named."""
        cells = self.row.cells
        for column in VARIED:
            if column in cells:
                with self.faults_of(column):
                    self.drill = _variation(column, cells[column]).of(self.drill)
        # Start and goal only make sense together, so a fault in one is told with both.
        given = [column for column in TEMPI if column in cells]
        wrong = [column for column in given if not WHOLE_NUMBER.fullmatch(cells[column])]
        for column in wrong:
            self.fault(column, f'"{short(cells[column])}" is not a whole number')
        if not wrong:
            start, goal = (int(cells[c]) if c in cells else None for c in TEMPI)
            with self.faults_of("start and goal", " to ".join(f'"{cells[c]}"' for c in given)):
                self.drill = Variation(start=start, goal=goal).of(self.drill)

    def fault(self, column: str, message: str) -> None:
        """What is wrong; `column` is empty where it is about several cells."""
        for cell in self.row.cells.values():
            message = message.replace(cell, short(cell))
        said = shown(f"{column}: {message}" if column else message)
        self.faults.append(short(said, LONGEST_FAULT))

    @contextmanager
    def faults_of(self, column: str, cells: str = "") -> Iterator[None]:
        """Keeps what is wrong while it lasts as a fault of a column."""
        try:
            yield
        except PlayalongError as error:
            # A setting's name is the column's, and a place in the drill is nothing of the list's.
            message = error.message if isinstance(error, LOCATED) else str(error)
            self.fault(column, f"{cells}: {message}" if cells else message)


def _variation(column: str, cell: str) -> Variation:
    if column == "positions":
        return Variation(positions=parse_positions(cell))
    return Variation(keys=(cell,)) if column == "key" else Variation(strings=(cell,))
