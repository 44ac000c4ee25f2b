"""The scores of every key and string that a drill asks for, and those that cannot be played."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from playalong.drill.model import Drill
from playalong.drill.origin import DrillError
from playalong.score.model import Score, pair_name
from playalong.score.resolving import UnplayableError
from playalong.score.writing import write

MOST_LISTED = 12  # keys and strings that cannot be played


@dataclass(frozen=True)
class Playable:
    """Scores in the order of practice; `skipped` tells of keys and strings without one."""

    scores: tuple[Score, ...]
    skipped: tuple[str, ...]


def playable_scores(drill: Drill, *, skip_unplayable: bool = False) -> Playable:
    """One score for each key and string.

    Raises DrillError listing what cannot be played; with `skip_unplayable` only if nothing can.
    """
    scores, skipped = [], []
    failures: list[UnplayableError] = []
    for key, string in drill.pairs:
        try:
            scores.append(write(drill, key, string))
        except UnplayableError as error:
            failures.append(error)
            skipped.append(f"{pair_name(key, string)}: {error.message}")
    if failures and not (scores and skip_unplayable):
        count = len(drill.pairs)
        raise failures[0] if count == 1 else _listed(failures, skipped, count)
    return Playable(tuple(scores), tuple(skipped))


def _listed(failures: Sequence[UnplayableError], told: Sequence[str], pairs: int) -> DrillError:
    more = [f"and {len(told) - MOST_LISTED} more"] if len(told) > MOST_LISTED else []
    listed = "\n  ".join([*told[:MOST_LISTED], *more])
    message = f"{len(told)} of {pairs} keys and strings cannot be played:\n  {listed}"
    if len(told) < pairs:
        message += "\n--skip-unplayable makes the others"
    return DrillError(failures[0].file, failures[0].line, message)
