"""Which notes bear the sign of a down bow or an up bow."""

from __future__ import annotations

from xml.etree.ElementTree import Element

import pytest
from written_music import main_notes, music


def bow_marks(root: Element) -> str:
    """`v` for a down bow, `^` for an up bow, `.` for a note without a mark."""
    return "".join(
        "v" if note.find(".//down-bow") is not None
        else "^" if note.find(".//up-bow") is not None
        else "."
        for note in main_notes(root)
    )  # fmt: skip


@pytest.mark.parametrize(
    ("bar", "more", "marks"),
    [
        ("1 2 3 4 4 3 2 1", "climb = 2", "v^......v^......"),
        ("1 2 3 4 4 3 2*2", "climb = 2", "v^.....^v....."),  # seven bows: the next one is an up bow
        ("1 2 3 4 4 3 2 1", 'bow = "beat"', "v.^.v.^."),
        ("1*2 ( 2 3 ) 4 ( 4 3 2 )", "", "v^.v^.."),
    ],
)
def test_of_separate_bows_the_first_two_are_marked_and_of_slurs_every_one(bar, more, marks):
    assert bow_marks(music(bar, f"{more}\npasses = 1")) == marks
