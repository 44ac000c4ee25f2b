"""Bars may come from elsewhere: another reader is one function that gives a pattern.

The trial reader takes bars as lists of data; every message still names where a note was written.
"""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from typing import Any

import pytest

from playalong.drill.load import parse
from playalong.drill.model import Drill
from playalong.drill.origin import DrillError, Origin
from playalong.drill.pattern import Event, Pattern, Symbol
from playalong.drill.validation import check_drill
from playalong.instrument.position import Position
from playalong.score.resolving import UnplayableError
from playalong.score.writing import write

TOML = 'title = "T"\ninstrument = "violin"\nclimb = 2\nbar = "p1: 1 2*2 r p3: ~3 4# (E5=1 1)"\n'
DATA: list[list[dict[str, Any]]] = [
    [
        {"notes": [{"finger": 1}]},
        {"notes": [{"finger": 2}], "length": "2"},
        {"notes": []},
        {"notes": [{"finger": 3, "position": 3}], "slide": True},
        {"notes": [{"finger": 4, "position": 3, "alter": "#"}]},
        {"notes": [{"index": 37, "finger": 1, "position": 3, "placed": True}], "slur": 0},
        {"notes": [{"finger": 1, "position": 3}], "slur": 0},
    ]
]


def symbol(fields: dict[str, Any], origin: Origin) -> Symbol:
    position = Position(fields.pop("position", 1))
    return Symbol(position=position, **fields, origin=origin)


def read(bars: list[list[dict[str, Any]]], file: str = "bars.json") -> Pattern:
    """Bars as data to a pattern; lines count bars, columns count events."""

    def event(data: dict[str, Any], line: int, column: int) -> Event:
        fields = dict(data)
        origin = Origin(str(fields["notes"]), file, line, column)
        symbols = tuple(symbol(dict(each), origin) for each in fields.pop("notes"))
        if "length" in fields:
            fields["length"] = Fraction(fields["length"])
        return Event(symbols, **fields, origin=origin)

    return Pattern(
        tuple(
            tuple(event(data, line, column) for column, data in enumerate(bar, 1))
            for line, bar in enumerate(bars, 1)
        )
    )


def drill_of(bars: list[list[dict[str, Any]]]) -> Drill:
    drill = replace(parse(TOML), pattern=read(bars))
    check_drill(drill)
    return drill


def test_the_same_bars_as_data_give_the_same_score() -> None:
    one, two = parse(TOML), drill_of(DATA)
    assert one.pattern == two.pattern
    assert write(one).climb == write(two).climb


def test_what_is_wrong_names_the_place_in_its_own_file() -> None:
    with pytest.raises(DrillError, match=r"bars\.json, line 1: bar 1 has 6 eighths") as caught:
        drill_of([DATA[0][:-2]])
    assert (caught.value.line, caught.value.column) == (1, 1)
    low = [[{"notes": [{"finger": 1, "extended": True}], "length": "8"}]]
    with pytest.raises(
        UnplayableError, match=r"bars\.json, line 1: .* at or below the open"
    ) as off:
        write(drill_of(low))
    assert off.value.column == 1


def test_two_notes_at_once_are_refused_with_what_to_write_instead() -> None:
    pair = [[{"notes": [{"finger": 3}, {"finger": 1, "string": "A"}], "length": "8"}]]
    with pytest.raises(DrillError, match="two notes at once are not played; write one of them"):
        drill_of(pair)
