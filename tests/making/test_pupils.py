"""A list of pupils: every fault in it is told before anything is made."""

from __future__ import annotations

import os
from collections.abc import Iterable
from pathlib import Path

import pytest
from mailfolder import short_drill

from playalong.drill.load import load
from playalong.folder.files import ReadError
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
        ("a@example.org,,,,,,7-8", '"7-8": no starting position of the climb'),
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
        read_pupils(path, load(drill), Options(own_bank()))


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
        (b"address\na@example.org \x81\n", "is not text that can be read; save the list as CSV"),
        (b"\xff\xfea\0d\0\0", "is not text that can be read; save the list as CSV UTF-8"),
        (b"a\0d\0d\0", "is not text that can be read; save the list as CSV UTF-8"),
        (b"sep=|\naddress\n", r'line 1: cells stand apart by .* not "\|"'),
        (b"adress,nme\n", '(?s)"adress" is not a column.*"nme" is not a column'),
        (b"address,a,a,a,a,a,a,a,a,a,a,a,a,a,a\n", "line 1: 15 columns; 7 is the most"),
        (b"address\n" + b"a" * 2**18, "has 262,152 bytes; a list of pupils has 262,144 at most"),
        (b'address\n"a@example.org\n', "line 2: "),
    ],
)
def test_a_list_that_is_none_is_told(
    drill: Path, tmp_path: Path, content: bytes, said: str
) -> None:
    (tmp_path / "p.csv").write_bytes(content)
    with pytest.raises((PupilsError, ReadError), match=said):
        read_pupils(tmp_path / "p.csv", load(drill), Options(own_bank()))


def listed(path: Path, lines: Iterable[str]) -> Path:
    path.write_text(HEADING + "".join(f"{line}\n" for line in lines), encoding="utf-8")
    return path


def test_a_list_has_500_pupils_at_most(drill: Path, tmp_path: Path) -> None:
    pupils = [f"a{number}@example.org,,,,,," for number in range(501)]
    path = listed(tmp_path / "p.csv", pupils)
    with pytest.raises(PupilsError, match=r"p\.csv lists 501 pupils; 500 is the most"):
        read_pupils(path, load(drill), Options(own_bank()))
    assert len(read_pupils(listed(path, pupils[:500]), load(drill), Options(own_bank()))) == 500


@pytest.mark.parametrize(
    ("faults", "more"), [(20, []), (21, ["and 1 more"]), (30, ["and 10 more"])]
)
def test_twenty_faults_are_told_and_the_others_counted(
    drill: Path, tmp_path: Path, faults: int, more: list[str]
) -> None:
    path = listed(tmp_path / "p.csv", ["nobody,,,,,,"] * faults)
    with pytest.raises(PupilsError, match=r"address: .* is not a mail address") as error:
        read_pupils(path, load(drill), Options(own_bank()))
    lines = [line.partition(": ")[0] for line in str(error.value).splitlines()]
    assert lines == [f"{path}, line {number}" for number in range(2, 22)] + more


@pytest.mark.parametrize(
    ("cell", "said"),
    [
        ("99999", "outside 20 to 320"),
        ("100000", 'start: "100000" is not a whole number'),
        ("2²", 'start: "2²" is not a whole number'),
        ("-60", 'start: "-60" is not a whole number'),
        ("60.0", r'start: "60\.0" is not a whole number'),
    ],
)
def test_a_tempo_is_a_whole_number(drill: Path, tmp_path: Path, cell: str, said: str) -> None:
    path = listed(tmp_path / "p.csv", [f"a@example.org,,,{cell},,,"])
    with pytest.raises(PupilsError, match=said):
        read_pupils(path, load(drill), Options(own_bank()))


def test_a_name_has_200_characters_at_most(drill: Path, tmp_path: Path) -> None:
    path = listed(tmp_path / "p.csv", [f"a@example.org,,,,,{'n' * 200},"])
    (pupil,) = read_pupils(path, load(drill), Options(own_bank()))
    assert pupil.name == "n" * 200
    listed(path, [f"a@example.org,,,,,{'n' * 201},"])
    with pytest.raises(PupilsError, match="has more than 200 characters"):
        read_pupils(path, load(drill), Options(own_bank()))


def test_a_cell_stands_before_what_the_drill_says_and_an_empty_one_leaves_it(
    drill: Path, tmp_path: Path
) -> None:
    path = listed(
        tmp_path / "p.csv",
        ["Zoë <z@example.org>,Bb major,D,180,190,,1-4", "", "b@example.org,,,,,Ben,"],
    )
    zoe, ben = read_pupils(path, load(drill), Options(own_bank()))
    assert (zoe.line, zoe.name, str(zoe.to)) == (2, "Zoë", "Zoë <z@example.org>")
    assert [key.name for key in zoe.drill.keys] == ["Bb major"]
    assert zoe.drill.strings == ("D",)
    assert (zoe.drill.tempo.start, zoe.drill.tempo.goal) == (180, 190)
    assert (zoe.drill.positions, zoe.folder) == ((1, 4), "01-zoe")
    assert (ben.line, str(ben.to), ben.folder) == (4, "Ben <b@example.org>", "02-ben")
    assert [key.name for key in ben.drill.keys] == ["C major"]
    assert (ben.drill.tempo.start, ben.drill.positions) == (200, None)


@pytest.mark.parametrize("separator", [",", ";", "\t"])
def test_a_list_is_apart_by_commas_semicolons_or_tabs(
    drill: Path, tmp_path: Path, separator: str
) -> None:
    text = f'address{separator}name\n"a@example.org"{separator}"Other, Ann; or Anna"\n'
    (tmp_path / "p.csv").write_text(text)
    (pupil,) = read_pupils(tmp_path / "p.csv", load(drill), Options(own_bank()))
    assert pupil.name == "Other, Ann; or Anna"


ROWS = [("address", "name"), ("a@example.org", "Jörg; or „J“"), ("b@example.org", "Zoë")]


@pytest.mark.parametrize(
    "encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le mark", "utf-16-be mark", "cp1252"]
)
@pytest.mark.parametrize("separator", [",", ";", "\t"])
@pytest.mark.parametrize("first", ["", "sep={}\r\n", '"sep={}"\r\n'])
@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
def test_a_list_is_read_as_spreadsheets_save_it(
    drill: Path, tmp_path: Path, encoding: str, separator: str, first: str, end: str
) -> None:
    text = first.format(separator) + "".join(f'"{a}"{separator}"{n}"{end}' for a, n in ROWS)
    name, _, mark = encoding.partition(" ")
    content = ("\ufeff" if mark else "").encode(name if mark else "ascii") + text.encode(name)
    (tmp_path / "p.csv").write_bytes(content)
    told: list[str] = []
    pupils = read_pupils(tmp_path / "p.csv", load(drill), Options(own_bank()), tell=told.append)
    assert [(each.address.addr_spec, each.name) for each in pupils] == ROWS[1:]
    assert [each.line for each in pupils] == ([3, 4] if first else [2, 3])
    guessed = ["1252" in remark and "look at the names" in remark for remark in told]
    assert guessed == ([True] if encoding == "cp1252" else [])


def test_every_mistake_of_every_line_is_told(drill: Path, tmp_path: Path) -> None:
    lines = [
        "nobody,H major,Q,fast,9,,4-1",
        "a@example.org,C major,A,60,72,,",
        "b@example.org,,Q,,,,",
    ]
    path = listed(tmp_path / "p.csv", lines)
    with pytest.raises(PupilsError, match="is not a mail address") as error:
        read_pupils(path, load(drill), Options(own_bank()))
    where = [
        line.removeprefix(f"{path}, line ").split(": ")[:2] for line in str(error.value).split("\n")
    ]
    assert where == [
        ["2", "address"], ["2", "positions"], ["2", "key"], ["2", "string"], ["2", "start"],
        ["4", "string"],
    ]  # fmt: skip


def test_an_address_that_stands_twice_is_asked_about(drill: Path, tmp_path: Path) -> None:
    lines = ["a@example.org,,,,,Ann,", "b@example.org,,,,,,", "A@Example.org,,,,,Ben,"]
    path = listed(tmp_path / "p.csv", lines)
    said = (
        r'line 4: address: "A@Example\.org" stands in line 2 too; is it .* add --shared-addresses'
    )
    with pytest.raises(PupilsError, match=said):
        read_pupils(path, load(drill), Options(own_bank()))
    pupils = read_pupils(path, load(drill), Options(own_bank()), shared_addresses=True)
    assert [each.name for each in pupils] == ["Ann", "", "Ben"]


@pytest.mark.parametrize("column", range(7))
@pytest.mark.parametrize("letter", ["x", "(", "<", "=?", "\x1b[2J", "\u202e"])
def test_a_message_about_a_cell_is_short_and_steers_no_terminal(
    drill: Path, tmp_path: Path, column: int, letter: str
) -> None:
    cells = ["a@example.org", *[""] * 6]
    cells[column] = letter * (100_000 // len(letter.encode()))
    path = listed(tmp_path / "p.csv", [",".join(cells)])
    with pytest.raises(PupilsError, match="line 2: ") as error:
        read_pupils(path, load(drill), Options(own_bank()))
    assert len(str(error.value)) < 800
    assert "\x1b" not in str(error.value)
    assert "\u202e" not in str(error.value)


def test_a_list_that_is_no_file_is_not_waited_for(drill: Path, tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "p.csv")
    for path in (tmp_path / "p.csv", Path("/dev/zero")):
        with pytest.raises(ReadError, match="is no file; a list of pupils is read from a file"):
            read_pupils(path, load(drill), Options(own_bank()))
    with pytest.raises(ReadError, match="there is no list of pupils"):
        read_pupils(tmp_path / "q.csv", load(drill), Options(own_bank()))
