"""A whole make writes each score once, whatever is made from it."""

from pathlib import Path

import pytest
from playing import BANK, drill_of

from playalong.making.make import make
from playalong.making.plan import Options
from playalong.score.resolving import Resolver


def test_a_score_is_written_once_for_each_key_and_string(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Tracks of every stage, a session in parts, sheet and page come from the same scores."""
    begun = []
    climb = Resolver.climb

    def counted(self: Resolver) -> tuple[int, ...]:
        begun.append((self.board.key.name, self.string))
        return climb(self)

    monkeypatch.setattr(Resolver, "climb", counted)
    drill = drill_of(
        "1 2 3 1 p3: 1 2 p1: 2 1",
        'keys = ["C major", "G major"]\nclimb = 3\npasses = 1\nsession.play = 0.5\n'
        'stages = ["answer", "alone"]\ntempo = { start = 200, goal = 208 }',
    )
    make(drill, tmp_path, Options(BANK, format="wav"))
    assert begun == [("C major", "D"), ("G major", "D")]
