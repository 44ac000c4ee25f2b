"""Do two folders of builds hold the same? python tests/bench/compare_builds.py OLD NEW

Each folder, as build_demos.py leaves it, holds an OUT folder for each drill and NAME.explain.json
beside it. MIDI and MusicXML are compared byte for byte, timelines and explanations value by value,
WAV sample by sample. Names of values that only NEW has are listed once; everything else that is
not as in OLD is a difference, and the exit status is 1.
"""

from __future__ import annotations

import argparse
import functools
import hashlib
import json
import re
import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np
import soundfile

SUMS = "samples.sha256"  # a line for each WAV whose samples were too large to keep
PIECE_FRAMES = 1 << 20
TOLD = 5  # differences of each kind


@dataclass(frozen=True)
class Builds:
    """A folder of builds."""

    root: Path

    def names(self) -> set[str]:
        """Paths of all files below it, and of the WAVs that were taken away; nothing hidden."""
        below = (path.relative_to(self.root) for path in self.root.rglob("*") if path.is_file())
        shown = (path for path in below if not any(part.startswith(".") for part in path.parts))
        return {path.as_posix() for path in shown} | set(self.sums)

    @functools.cached_property
    def sums(self) -> dict[str, str]:
        """sha256 of the samples of each WAV that was taken away."""
        file = self.root / SUMS
        lines = file.read_text("utf-8").splitlines() if file.exists() else []
        return {name: sha256 for sha256, name in (line.split("  ", 1) for line in lines)}

    def take_sounds_away(self) -> None:
        """Delete every WAV and keep the sum of its samples."""
        for path in sorted(self.root.rglob("*.wav")):
            with open(self.root / SUMS, "a", encoding="utf-8") as sums:
                sums.write(f"{samples_sha256(path)}  {path.relative_to(self.root).as_posix()}\n")
            path.unlink()


@dataclass(frozen=True)
class Comparison:
    """Differences between a file of OLD and the one of the same name in NEW, in words."""

    old: Builds
    new: Builds
    only_new: set[str] = field(default_factory=set)  # names of values

    def bytes(self, name: str) -> Iterator[str]:
        old, new = (builds.root.joinpath(name).read_bytes() for builds in (self.old, self.new))
        if old != new:
            pairs = enumerate(zip(old, new, strict=False))
            at = next((at for at, (a, b) in pairs if a != b), min(len(old), len(new)))
            yield f"{len(old)} bytes, now {len(new)}, the same up to byte {at}"

    def values(self, name: str) -> Iterator[str]:
        old, new = (json.loads((b.root / name).read_bytes()) for b in (self.old, self.new))
        return self._value(old, new, "")

    def _value(self, old: Any, new: Any, at: str) -> Iterator[str]:
        if isinstance(old, dict) and isinstance(new, dict):
            for name, value in old.items():
                if name in new:
                    yield from self._value(value, new[name], f"{at}.{name}")
                else:
                    yield f"{at}.{name} is gone"
            self.only_new.update(_entries(f"{at}.{name}") for name in new.keys() - old.keys())
        elif isinstance(old, list) and isinstance(new, list):
            if len(old) != len(new):
                yield f"{at} has {len(new)} entries, not {len(old)}"
                return
            for number, pair in enumerate(zip(old, new, strict=True)):
                yield from self._value(*pair, f"{at}[{number}]")
        elif old != new or isinstance(old, bool) != isinstance(new, bool):
            yield f"{at} is {json.dumps(new)[:80]}, not {json.dumps(old)[:80]}"

    def samples(self, name: str) -> Iterator[str]:
        old, new = self.old.root / name, self.new.root / name
        if old.exists() and new.exists():
            yield from _samples(old, new)
        elif _sum(self.old, name) != _sum(self.new, name):
            yield "the samples have another sum"


def _entries(at: str) -> str:
    return re.sub(r"\[\d+\]", "[]", at)


def _sum(builds: Builds, name: str) -> str:
    path = builds.root / name
    return samples_sha256(path) if path.exists() else builds.sums[name]


def samples_sha256(path: Path) -> str:
    """Of rate, channels and every sample as float32, which holds 16 and 24 bits exactly."""
    with soundfile.SoundFile(path) as file:
        found = hashlib.sha256(f"{file.samplerate} {file.channels} ".encode())
        while len(piece := file.read(PIECE_FRAMES, "float32")):
            found.update(piece.astype("<f4").tobytes())
    return found.hexdigest()


def _samples(old: Path, new: Path) -> Iterator[str]:
    with soundfile.SoundFile(old) as was, soundfile.SoundFile(new) as now:
        for what in ("samplerate", "channels", "frames"):
            if getattr(was, what) != getattr(now, what):
                yield f"{what} is {getattr(now, what)}, not {getattr(was, what)}"
                return
        first, frames, most, start = None, 0, 0.0, 0
        while len(piece := was.read(PIECE_FRAMES, "float32", always_2d=True)):
            off = np.abs(now.read(PIECE_FRAMES, "float32", always_2d=True) - piece).max(axis=1)
            (places,) = off.nonzero()
            if len(places) and first is None:
                first = start + int(places[0])
            frames += len(places)
            most = max(most, float(off.max()))
            start += len(piece)
    if frames:
        yield f"{frames} frames differ, the first is {first}, by {most:.2g} of full scale at most"


@dataclass(frozen=True)
class Kind:
    title: str
    ending: str
    differences: Callable[[Comparison, str], Iterator[str]]


KINDS = (
    Kind("MIDI", ".mid", Comparison.bytes),
    Kind("timelines", ".timeline.json", Comparison.values),
    Kind("explanations", ".explain.json", Comparison.values),
    Kind("sounds", ".wav", Comparison.samples),
    Kind("MusicXML", ".musicxml", Comparison.bytes),
)


def compare(old: Builds, new: Builds) -> bool:
    """Print what was compared and what differs; True if nothing does."""
    was, now = old.names(), new.names()
    equal = True
    for kind in KINDS:
        comparison = Comparison(old, new)
        told, compared = [], 0
        for name in sorted(name for name in was | now if name.endswith(kind.ending)):
            if name in was and name in now:
                compared += 1
                told += [f"{name}: {words}" for words in kind.differences(comparison, name)]
            else:
                told.append(f"{name} is only in {'OLD' if name in was else 'NEW'}")
        print(f"{kind.title}: {compared} compared, {len(told)} differences")
        for line in told[:TOLD]:
            print(f"  {line}")
        if len(told) > TOLD:
            print(f"  and {len(told) - TOLD} more")
        for name in sorted(comparison.only_new):
            print(f"  only in NEW: {name}")
        equal = equal and not told
    endings = tuple(kind.ending for kind in KINDS)
    rest = {Path(name) for name in (was | now) - {SUMS} if not name.endswith(endings)}
    told = sorted({path.suffix or path.name for path in rest})
    print("not compared:", ", ".join(told) or "nothing")
    return equal


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("old", type=Path)
    parser.add_argument("new", type=Path)
    asked = parser.parse_args()
    for folder in (asked.old, asked.new):
        if not any(name.endswith(".explain.json") for name in Builds(folder).names()):
            parser.error(f"{folder} holds no builds: no NAME.explain.json stands in it")
    sys.exit(0 if compare(Builds(asked.old), Builds(asked.new)) else 1)


if __name__ == "__main__":
    main()
