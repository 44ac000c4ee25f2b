"""A list of pupils: every fault in it is told before anything is made."""

from __future__ import annotations

from pathlib import Path

import pytest
from mailfolder import short_drill

from playalong.drill.load import load_drill
from playalong.making.plan import Options
from playalong.making.pupils import PupilsError, read_pupils
from playalong.shipped import own_bank

HEADING = "address,key,string,start,goal,name,positions\n"


@pytest.fixture(scope="module")
def drill(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return short_drill(tmp_path_factory.mktemp("drill"))


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ("jörg@example.org,,,,,,", "address: \"jörg@example.org\": before the @"),
        (",C major,,,,,", "address: is empty"),
        ('"a@example.org\nBcc: b@example.org",,,,,,', "address: an address has a line break"),
        ('a@example.org,,,,,"A\nB",', "name: a name has a line break"),
        (f"a@example.org,,,,,{'x' * 10_000},", "name: \"xxx.* has more than 200 characters"),
        ("a@example.org,H major,,,,,", 'key: .*"H major" is not a key'),
        (f"a@example.org,{'<script>' * 1250},,,,,", "key: .*is not a key"),
        ("a@example.org,,Q,,,,", 'string: .*no "Q" string; its strings are E, A, D, G'),
        ("a@example.org,,,fast,,,", 'start: "fast" is not a whole number'),
        ("a@example.org,,,9,,,", 'start and goal: "9": .*outside 20 to 320'),
        ("a@example.org,,,200,80,,", 'start and goal: "200" to "80": .*below the start'),
        ("a@example.org,,,,,,4-1", 'positions: "4-1" is upside down; did you mean "1-4"'),
        ("a@example.org,,,,,,7-8", '"7-8": no place of the climb'),
        ("a@example.org,Cb major,E,,,,", '"Cb major", "E": .*at or below the open string'),
        ("a@example.org,,,,,,,more", "8 cells, and the heading has 7"),
    ],
    ids=lambda text: text[:40],
)  # fmt: skip
def test_a_fault_in_the_list_names_file_line_column_and_value_before_anything_is_made(
    drill: Path, tmp_path: Path, line: str, said: str
) -> None:
    path = tmp_path / "p.csv"
    path.write_text(f"{HEADING}good@example.org,,,,,,\n\n{line}\n", encoding="utf-8")
    with pytest.raises(PupilsError, match=rf"^{path}, line 4: {said}"):
        read_pupils(path, load_drill(drill), Options(own_bank()))


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b"", r'heading has no column "address"'),
        (b"address\n", "lists no pupil below its heading"),
        (b"adress\na@example.org\n", r'"adress" is not a column; did you mean "address"'),
        (b"email\na@example.org\n", r'"email" is not a column; did you mean "address"'),
        (b"Mail\na@example.org\n", r'"mail" is not a column; did you mean "address"'),
        (b"address,address\n", 'the column "address" stands twice'),
        (b"key\nC major\n", r'heading has no column "address"'),
        (b"address\nj\xf6rg@example.org\n", "line 2: this is not UTF-8 text; save the list as"),
        (b'address\n"a@example.org\n', "line 2: "),
    ],
)
def test_a_list_that_is_none_is_told(
    drill: Path, tmp_path: Path, content: bytes, said: str
) -> None:
    (tmp_path / "p.csv").write_bytes(content)
    with pytest.raises(PupilsError, match=said):
        read_pupils(tmp_path / "p.csv", load_drill(drill), Options(own_bank()))
