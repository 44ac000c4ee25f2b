"""Build every demo drill, to hold one checkout against another:

    CHECKOUT/.venv/bin/python tests/bench/build_demos.py OUT [--digest] [DRILL ...]
    python tests/bench/compare_builds.py OUT ANOTHER_OUT

The playalong that is installed for the interpreter makes them, from the drills beside this script,
so that two checkouts are asked for the same. WAV with stems takes gigabytes; with --digest only
the sums of the samples are kept.
"""

from __future__ import annotations

import argparse
import subprocess
import sys
from pathlib import Path

from compare_builds import Builds

DEMO = Path(__file__).resolve().parents[2] / "demo"
PLAYALONG = [sys.executable, "-P", "-c", "from playalong.cli import main; main()"]
MAKE = ["--format", "wav", "--stems", "--ladder", "--no-page", "--quiet"]


def build(drill: Path, out: Path) -> None:
    """OUT/NAME and OUT/NAME.explain.json."""
    subprocess.run([*PLAYALONG, "make", drill, "--out", out / drill.stem, *MAKE], check=True)
    with open(out / f"{drill.stem}.explain.json", "wb") as file:
        subprocess.run([*PLAYALONG, "explain", drill, "--json"], stdout=file, check=True)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("out", type=Path, help="a folder that does not exist yet")
    parser.add_argument("drills", type=Path, nargs="*", default=sorted(DEMO.glob("*.toml")))
    parser.add_argument("--digest", action="store_true", help="keep sums in place of WAVs")
    asked = parser.parse_args()
    if asked.out.exists():
        parser.error(f"{asked.out} stands already: what another playalong made may not stay in it")
    asked.out.mkdir(parents=True)
    for drill in asked.drills:
        print(drill.stem, flush=True)
        try:
            build(drill, asked.out)
        except subprocess.CalledProcessError as error:
            sys.exit(f"{drill} was not built: status {error.returncode}")
        if asked.digest:
            Builds(asked.out).take_sounds_away()


if __name__ == "__main__":
    main()
