"""A signature that changes within a passage goes into its drills; shifts across it stay true."""

from __future__ import annotations

from pathlib import Path

import pytest
from small_scores import attributes, line, note, numbered, score, written

from playalong.drill.load import parse
from playalong.music.key import parse_key
from playalong.passage.passage import PASSAGE_FILE, Passage, passage_of
from playalong.passage.reading import all_parts
from playalong.passage.telling import part_row
from playalong.passage.wishes import Asked
from playalong.score.writing import write


def change(fifths: int, mode: str = "") -> str:
    said = f"<mode>{mode}</mode>" if mode else ""
    return f"<attributes><key><fifths>{fifths}</fifths>{said}</key></attributes>"


def on_a(name: str, finger: int, length: int = 4) -> str:
    technical = f"<technical><string>2</string><fingering>{finger}</fingering></technical>"
    return note(name, length, notations=technical)


def made(folder: Path, *contents: str, first: str = "", asked: Asked | None = None) -> Passage:
    bars = numbered(*contents, first=first)
    return passage_of(written(folder, score(*bars)), asked or Asked())


def keys(found: Passage) -> list[str]:
    drill = parse(found.files[PASSAGE_FILE])
    return [(bar.key or drill.keys[0]).name for bar in drill.bars]


def test_the_list_tells_from_which_bar_a_signature_or_meter_holds() -> None:
    three = attributes(2, "major", "3/4")
    bars = numbered(line("A4"), line("A4"), three + line("A4"), change(0) + line("A4"))
    (part,) = all_parts(score(*bars).encode())
    signatures = "no signs, 2 sharps from 3, no signs from 4"
    assert part_row(part) == ("1 Violin", "1-4", signatures, "4/4, 3/4 from 3")
    often = numbered(*(change(n % 2) + line("A4") for n in range(20)))
    (part,) = all_parts(score(*often).encode())
    assert part_row(part)[2].endswith("no signs from 7, 1 sharp from 8, …")


def test_the_key_is_written_where_it_changes_and_only_there(tmp_path: Path) -> None:
    plain, sharps = line("A4 A4 A4 A4"), line("F#4 C#5 A4 A4")
    found = made(tmp_path, plain, change(2, "major") + sharps, sharps, change(0, "major") + plain)
    assert keys(found) == ["C major", "D major", "D major", "C major"]
    assert found.told == ()
    text = found.files[PASSAGE_FILE]
    assert "|\nD major: F#4=2" in text
    assert (text.count("major:"), found.summary[:31]) == (2, "16 notes in C major, D major, 4")


@pytest.mark.parametrize(
    ("fifths", "mode", "then", "key"),
    [
        (-3, "minor", 0, "C major"),  # the same tonic
        (0, "major", -3, "C minor"),
        (0, "major", 1, "G major"),  # the same mode
        (-1, "minor", -2, "G minor"),
    ],
)
def test_a_mode_that_is_not_said_is_chosen_and_told(
    tmp_path: Path, fifths: int, mode: str, then: int, key: str
) -> None:
    bars = line("A4 A4 A4 A4"), change(then) + line("A4 A4 A4 A4")
    found = made(tmp_path, *bars, first=attributes(fifths, mode))
    assert keys(found) == [f"{'CD'[fifths == -1]} {mode}", key]
    [told] = found.told
    assert told.startswith(f"the score does not say whether it is {key} or ")
    assert told.endswith(" from bar 2")


def test_a_key_that_is_asked_for_holds_until_the_signature_changes(tmp_path: Path) -> None:
    asked = Asked(key=parse_key("A minor"))
    found = made(tmp_path, line("A4 A4", 8), change(3) + line("A4 A4", 8), asked=asked)
    assert keys(found) == ["A minor", "A major"]


def test_a_shift_across_a_change_of_key_is_alone_what_it_is_in_the_passage(tmp_path: Path) -> None:
    """Its ghost note stands in the new key, its old note under the old one."""
    leave = line("A4 A4 A4") + on_a("Bb4", 1)
    land = on_a("E5", 2, 8) + on_a("F#5", 3, 8)
    found = made(tmp_path, leave, change(3, "major") + land, first=attributes(-5, "major"))
    across = next(
        number
        for number, shift in enumerate(found.shifts, 1)
        if found.fingered.line.notes[shift.old].bar == 0
    )
    travel = found.shifts[across - 1].travel
    drill = parse(found.files[f"shift-{across}-alone.toml"])
    assert [(bar.key or drill.keys[0]).name for bar in drill.bars] == ["Db major", "A major"] * 2
    alone = write(drill)
    assert [str(each) for each in alone.warnings] == []
    arrival = alone.climb[0].fresh[-1].arrival
    assert arrival is not None
    assert str(travel.ghost) == "D5"
    told = (arrival.kind, arrival.ghost, arrival.hand_travel_mm)
    assert told == (travel.kind, travel.ghost, travel.hand_travel_mm)
    growing = parse(found.files[f"shift-{across}-growing.toml"])
    assert (growing.bars[-1].key, growing.keys[0].name) == (parse_key("A major"), "Db major")
