"""How fast a take is listened to, and how much memory it takes: python tests/bench/take_speed.py

Each figure is of the whole command in a process of its own, start-up and all, on one core: seconds
of CPU (so that other work on the machine does not count), and the most memory that it ever held.
Long recordings are one take repeated, as of somebody who records a whole evening.
"""

from __future__ import annotations

import argparse
import os
import subprocess
import sys
import tempfile
from pathlib import Path

import soundfile

ROOT = Path(__file__).parents[2]
sys.path[:0] = [str(ROOT), str(ROOT / "tests")]

from played import Condition, take_of  # noqa: E402
from recorded import RATE_HZ, bank_notes  # noqa: E402

import playalong  # noqa: E402
from playalong.take.find import Track, tracks_of  # noqa: E402

DRILL = ROOT / "demo" / "02-substitution.toml"
PLAYED = 3  # which of its tracks
MINUTES = (1, 10, 60, 180)
WATCH = """import resource, subprocess, sys
subprocess.run(sys.argv[1:], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, check=True)
used = resource.getrusage(resource.RUSAGE_CHILDREN)
print(used.ru_utime + used.ru_stime, used.ru_maxrss)
"""  # from a small process, since a child's most memory begins with that of its parent


def run(*words: object) -> tuple[float, float]:
    """Seconds of CPU and MB at most of `playalong take`."""
    command = [sys.executable, "-m", "playalong.cli", "take", *map(str, words), "--keep", "no"]
    alone = {"OPENBLAS_NUM_THREADS": "1", "OMP_NUM_THREADS": "1", "PYTHONPATH": str(ROOT)}
    watched = [sys.executable, "-c", WATCH, *command]
    done = subprocess.run(
        watched, capture_output=True, text=True, env={**os.environ, **alone}, check=True
    )
    seconds, kilobytes = done.stdout.split()
    return float(seconds), int(kilobytes) / 1024


def recorded(track: Track, leak_db: float | None, path: Path) -> float:
    """A take of a track; its seconds."""
    condition = Condition("", leak_db=leak_db)
    take = take_of(track.timeline, track.read_sound(), bank_notes(), condition, seed=1)
    soundfile.write(path, take.sound, RATE_HZ)
    return len(take.sound) / RATE_HZ


def repeated(path: Path, minutes: float, long: Path) -> None:
    sound, rate_hz = soundfile.read(path, dtype="int16")
    left = round(minutes * 60 * rate_hz)
    with soundfile.SoundFile(long, "w", rate_hz, 1) as file:
        while left > 0:
            file.write(sound[:left])
            left -= len(sound)


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("--minutes", type=float, nargs="*", default=MINUTES)
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        out = Path(folder) / "out"
        playalong.make(playalong.load(DRILL), out, playalong.Options(sessions=False))
        tracks = tracks_of(out)
        track = tracks[PLAYED]
        take, phones, long = (Path(folder) / f"{name}.wav" for name in ("take", "phones", "long"))
        seconds = recorded(track, -30, take)
        recorded(track, None, phones)
        print(f"a take of {seconds:.0f} s, a folder of {len(tracks)} tracks")
        for name, words in {
            "named, --json": (take, track.audio, "--json"),
            "found in the folder, --json": (take, out, "--json"),
            "named, with its page": (take, track.audio),
            "found in the folder, with its page": (take, out),
            "headphones, named, --json": (phones, track.audio, "--json"),
            "headphones, found in the folder, --json": (phones, out, "--json"),
        }.items():
            spent, most_mb = run(*words)
            print(f"{name:42s} {seconds / spent:5.1f} times real time, {most_mb:4.0f} MB")
        for minutes in asked.minutes:
            repeated(take, minutes, long)
            for name, where in (("named, the last of", track.audio), ("cut into", out)):
                spent, most_mb = run(long, where, "--json")
                print(
                    f"{minutes:5g} minutes, {name} its takes  "
                    f"{60 * minutes / spent:5.1f} times real time, {most_mb:4.0f} MB",
                    flush=True,
                )


if __name__ == "__main__":
    main()
