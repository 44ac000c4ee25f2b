"""The scores of every key and string that a drill asks for, and those that cannot be played."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from playalong.drill.errors import DrillError
from playalong.drill.model import Drill
from playalong.music.key import Key
from playalong.score.resolving import UnplayableError
from playalong.score.score import Score
from playalong.score.writing import build_score


@dataclass(frozen=True)
class Playable:
    """Scores in the order of practice; `skipped` tells of keys and strings without one."""

    scores: tuple[Score, ...]
    skipped: tuple[str, ...]


def playable_scores(
    drill: Drill, positions: tuple[int, int] | None = None, *, skip_unplayable: bool = False
) -> Playable:
    """One score for each key and string.

    Raises DrillError listing what cannot be played; with `skip_unplayable` only if nothing can.
    """
    scores, skipped = [], []
    failures: list[UnplayableError] = []
    pairs = [(key, string) for key in drill.keys for string in drill.strings or (None,)]
    for key, string in pairs:
        try:
            scores.append(build_score(drill, key, string, positions=positions))
        except UnplayableError as error:
            failures.append(error)
            skipped.append(f"{pair_name(key, string)}: {error.message}")
    if failures and not (scores and skip_unplayable):
        raise failures[0] if len(pairs) == 1 else _listed(failures, skipped, len(pairs))
    return Playable(tuple(scores), tuple(skipped))


def pair_name(key: Key, string: str | None) -> str:
    return f"{key} on the {string} string" if string else str(key)


def _listed(failures: Sequence[UnplayableError], told: Sequence[str], pairs: int) -> DrillError:
    listed = "\n  ".join(told)
    message = f"{len(told)} of {pairs} keys and strings cannot be played:\n  {listed}"
    if len(told) < pairs:
        message += "\n--skip-unplayable makes the others"
    return DrillError(failures[0].file, failures[0].line, message)
