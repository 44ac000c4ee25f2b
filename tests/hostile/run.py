"""Try what nobody should write, as often as you like: python tests/hostile/run.py KIND COUNT

KIND is one of drills, banks, records, lists, scores; or builds or mailings, which are killed at
random moments and must go on when they are begun again. A case is made from the kind, the seed and
its number alone, so that what failed can be tried again: `drills 1 --from 1234`. What fails is
printed, and its bytes are kept in the folder `--keep`. Exit status 1 if anything failed.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))

from hostile import banks, drills, lists, records, scores
from hostile.kills import kill_builds, kill_mailings
from hostile.trial import Kind, case_of, try_all

KINDS = {
    "drills": Kind(drills.case, drills.attempt, drills.LIMIT_SECONDS),
    "banks": Kind(banks.case, banks.attempt, banks.LIMIT_SECONDS, by_the_clock=True),
    "records": Kind(records.case, records.attempt, records.LIMIT_SECONDS),
    "lists": Kind(lists.case, lists.attempt, lists.LIMIT_SECONDS),
    "scores": Kind(scores.case, scores.attempt, scores.LIMIT_SECONDS),
}
KILLED = {"builds": kill_builds, "mailings": kill_mailings}
PIECE = 1_000  # cases between two lines of progress
SHOWN_FAULTS, SHOWN_CHARACTERS = 5, 1_000


def main() -> int:
    words = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    words.add_argument("kind", choices=[*KINDS, *KILLED])
    words.add_argument("count", type=int)
    words.add_argument("--from", dest="first", type=int, default=0, help="number of the first case")
    words.add_argument("--seed", type=int, default=1)
    words.add_argument("--keep", type=Path, default=Path("hostile-failures"))
    asked = words.parse_args()
    failed, end = 0, asked.first + asked.count
    with tempfile.TemporaryDirectory(prefix="hostile-") as folder:
        if asked.kind in KILLED:
            print(dict(KILLED[asked.kind](asked.count, asked.seed, Path(folder))))
            return 0
        kind = KINDS[asked.kind]
        for start in range(asked.first, end, PIECE):
            numbers = range(start, min(start + PIECE, end))
            tally = try_all(kind, asked.kind, asked.seed, numbers, Path(folder))
            print(
                f"{asked.kind} {numbers.start} to {numbers.stop - 1}: {dict(tally.outcomes)}, "
                f"{len(tally.faults)} failed; slowest {tally.slowest_seconds:.2f} s, memory grew "
                f"by {tally.growth_bytes / 1e6:.0f} MB",
                flush=True,
            )
            for number, fault in tally.faults.items():
                failed += 1
                asked.keep.mkdir(parents=True, exist_ok=True)
                kept = asked.keep / f"{asked.kind}-{asked.seed}-{number}"
                kept.write_bytes(case_of(kind, asked.kind, asked.seed, number))
                kept.with_name(kept.name + ".txt").write_text(fault, encoding="utf-8")
                if failed <= SHOWN_FAULTS:
                    print(f"--- {kept}\n{fault[-SHOWN_CHARACTERS:]}")
    print(f"{asked.count} {asked.kind}: {failed} failed")
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
