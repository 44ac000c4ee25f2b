"""The words around the music: how the drill is tuned."""

from __future__ import annotations

import pytest
from playing import drill_of

from playalong.score.writing import write
from playalong.sheet.words import tuning_words


@pytest.mark.parametrize(
    ("temperament", "told"),
    [
        ("equal", "equal temperament"),
        ("pythagorean", "pure fifths"),
        (
            "just",  # check: a syntonic comma, 81/80, is 21.5 cents
            "just intonation; the open E string stands 21.5 cents above the key’s E; "
            "the open A string stands 21.5 cents above the key’s A",
        ),
    ],
)
def test_the_tuning_is_named_with_the_open_strings_that_stand_apart_in_it(temperament, told):
    more = f'strings = ["D"]\nkeys = ["C major"]\ntuning = {{ temperament = "{temperament}" }}'
    assert tuning_words(write(drill_of("1*8", more))) == f"A4 = 440 Hz, {told}"
