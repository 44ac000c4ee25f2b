"""Lists of pupils, as spreadsheets and people get them wrong."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from random import Random

from hostile.trial import assert_told
from hostile.writing import lines_moved, slipped

from playalong.drill.load import load
from playalong.drill.model import Drill
from playalong.errors import PlayalongError
from playalong.making.plan import Options
from playalong.making.pupils import read_pupils
from playalong.shipped import DEMO_DRILL, demo_folder

LIMIT_SECONDS = 2.0
HEADING = "address,key,string,start,goal,name,positions"
CELLS = (
    ("anna@example.org", "b@example.org", "Anna <a@example.org>", "nobody", "é@example.org", "a@b",
     "=?utf-8?q?x?= <c@example.org>", "x" * 300 + "@example.org", "a@example.org\r\nBcc: x@y.org"),
    ("", "Bb major", "D minor", "H major", "c#", "B♭ major", "d" * 500),
    ("", "D", "A", "Z", "d"),
    ("", "60", "72", "0", "-1", "60.5", "9" * 400, "²"),
    ("", "60", "80", "320", "1e9"),
    ("", "Anna", "é" * 200, "=1+1", "\x1b[2J", "../..", "con", '"quoted"', "a\nb"),
    ("", "1-4", "4-1", "1–4", "0-99", "Apr 1"),
)  # fmt: skip
ENCODINGS = ("utf-8", "utf-8", "utf-8-sig", "utf-16", "utf-16-le", "cp1252", "cp437")
WORDS = (
    *(cell.encode() for column in CELLS for cell in column if cell),
    *(b"sep=;\n", b"address", b"name", b"email", b'"', b",,,,", b";", b"\t", b"\n\n\n"),
    b"a@example.org\n",
)


@cache
def _drill() -> Drill:
    return load(demo_folder() / DEMO_DRILL)


def case(chance: Random) -> bytes:
    """One list."""
    separator = chance.choice((",", ",", ",", ";", ";", "\t", "\t", "|"))
    columns = chance.sample(range(7), 7) if chance.random() < 0.5 else list(range(7))
    heading = separator.join(HEADING.split(",")[column] for column in columns)
    rows = [
        separator.join(_cell(CELLS[column], chance) for column in columns)
        for _ in range(chance.choice((0, 1, 1, 2, 3, 3, 3, 12, 60, 501)))
    ]
    text = chance.choice(("\n", "\r\n", "\r")).join((heading, *rows))
    raw = text.encode(chance.choice(ENCODINGS), "replace")
    match chance.randrange(4):
        case 0:
            return slipped(raw, chance, WORDS)
        case 1:
            return lines_moved(slipped(raw, chance, WORDS), chance)
        case _:
            return raw


def _cell(known: tuple[str, ...], chance: Random) -> str:
    cell = chance.choice(known[:2]) if chance.random() < 0.97 else chance.choice(known)
    quoted = any(sign in cell for sign in ',;"\n') and chance.random() < 0.8
    return '"' + cell.replace('"', '""') + '"' if quoted else cell


def attempt(raw: bytes, folder: Path) -> str:
    path = folder / "pupils.csv"
    path.write_bytes(raw)
    try:
        pupils = read_pupils(path, _drill(), Options(), shared_addresses=bool(len(raw) % 2))
    except PlayalongError as error:
        assert_told(error, path)
        return "told"
    for pupil in pupils:
        assert not {"/", "\\", "\0"} & set(pupil.folder)
        assert pupil.to
    return "read"
