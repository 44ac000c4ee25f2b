"""What one hears of a line of music."""

from __future__ import annotations

from playing import drill_of

from playalong.engraving.spoken import spoken
from playalong.engraving.written_score import write_down
from playalong.score.writing import write


def test_passes_are_told_once_where_they_are_repeated_from() -> None:
    drill = drill_of("1*8 | 2*8", 'strings = ["D"]\nkeys = ["C major"]\npasses = 3')
    (line,) = spoken(write_down(write(drill)), [(0, 1)])
    assert line.startswith("Bar 1: ")
    assert line.endswith("; 3 passes.")
    assert line.count("3 passes") == 1
