"""How fast a build is, as ratios measured in one run: python tests/bench/make_speed.py

Against the bare encoder fed the same samples with the same workers; our render against
pretty_midi's and against the fluidsynth program; one worker against all; 1 to 1,000 tracks with
their peak memory; start-up. Each figure is the least of its rounds, since other work on the
machine only ever adds.
"""

from __future__ import annotations

import argparse
import json
import os
import platform
import resource
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

ROUNDS = 3
DRILL = """title = "Speed"
instrument = "viola"
strings = {strings}
keys = {keys}
bar = "p1: ( 1 2 3 1 p3: 1 2 ) p1: ( 2 1 )"
climb = 4
tempo = {{ start = {start}, goal = {goal}, step = "+1" }}
"""
KEYS = ["C major", "G major", "D major", "A major", "F major", "Bb major", "Eb major", "Ab major",
        "D minor", "A minor", "E minor", "G minor"]  # fmt: skip


def drill_text(tracks: int, most_keys: int) -> str:
    """A drill of so many tracks (a multiple of four, or one) on the D string."""
    rungs = max(1, tracks // 4)
    keys = next(n for n in range(min(rungs, most_keys), 0, -1) if rungs % n == 0)
    start = 60
    text = DRILL.format(
        strings=json.dumps(["D"]),
        keys=json.dumps(KEYS[:keys]),
        start=start,
        goal=start + rungs // keys - 1,
    )
    return text if tracks > 1 else 'stages = ["listen"]\n' + text


def least(work: Callable[[], object], rounds: int = ROUNDS) -> float:
    """Seconds of the fastest of some rounds."""
    times = []
    for _ in range(rounds):
        began = time.perf_counter()
        work()
        times.append(time.perf_counter() - began)
    return min(times)


def build(
    folder: Path,
    tracks: int,
    jobs: int,
    *,
    session: bool = False,
    everything: bool = False,
    format: str = "mp3",
) -> float:
    """Make so many tracks; with `session` one session through all of them as well, or `everything`
    that a build makes by itself: a session for each tempo, sheet and page.

    Minutes of the tracks.
    """
    from playalong.drill.load import parse
    from playalong.making.make import make
    from playalong.making.plan import Options
    from playalong.shipped import own_bank

    shutil.rmtree(folder, ignore_errors=True)
    options = Options(
        own_bank(),
        format,
        sessions=session or everything,
        whole_ladder=session,
        sheet=everything,
        page=everything,
    )
    most_keys = 1 if session else len(KEYS)
    made = make(parse(drill_text(tracks, most_keys)), folder, options, jobs=jobs)
    return sum(track.seconds for track in made.manifest.tracks) / 60


def encode_again(folder: Path, jobs: int) -> Callable[[], object]:
    """The bare encoder, fed the samples of a build that was made as WAV."""
    import soundfile

    paths = sorted(folder.rglob("*.wav"))
    sounds = [soundfile.read(path, dtype="float32")[0] for path in paths]

    bare = folder.parent / "bare"
    bare.mkdir(exist_ok=True)

    def encode(number: int) -> None:
        with soundfile.SoundFile(
            bare / f"{number}.mp3", "w", 44_100, 1, format="MP3",
            subtype="MPEG_LAYER_III", bitrate_mode="CONSTANT", compression_level=0.8,
        ) as file:  # fmt: skip
            for at in range(0, len(sounds[number]), 16_384):
                file.write(sounds[number][at : at + 16_384])

    def all_of_them() -> None:
        with ThreadPoolExecutor(jobs) as pool:
            list(pool.map(encode, range(len(sounds))))

    return all_of_them


def measure_build(folder: Path, jobs: int) -> None:
    tracks = 24
    whole = {n: least(lambda n=n: build(folder, tracks, n)) for n in {1, jobs}}  # type: ignore[misc]
    build(folder, tracks, jobs, format="wav")
    bare = {n: least(encode_again(folder, n)) for n in {1, jobs}}
    for n in sorted(whole):
        print(f"build of {tracks} tracks, {n} workers: {whole[n]:.2f} s; "
              f"bare encoder {bare[n]:.2f} s; ratio {whole[n] / bare[n]:.2f}")  # fmt: skip
    for n in sorted(whole):
        ours = least(lambda n=n: build(folder, tracks, n, everything=True))  # type: ignore[misc]
        build(folder, tracks, jobs, everything=True, format="wav")
        theirs = least(encode_again(folder, n))
        print(f"the same with sessions, sheet and page, {n} workers: {ours:.2f} s; bare encoder, "
              f"sessions too, {theirs:.2f} s; ratio {ours / theirs:.2f}")  # fmt: skip
    if jobs > 1:
        print(f"{jobs} workers against 1: {whole[1] / whole[jobs]:.2f} times as fast "
              f"(bare encoder {bare[1] / bare[jobs]:.2f})")  # fmt: skip


def measure_render(folder: Path) -> None:
    import mido
    import pretty_midi

    from playalong.performance.clock import BLOCK_FRAMES, SAMPLE_RATE_HZ
    from playalong.shipped import own_bank
    from playalong.sound.synth import render

    build(folder, 1, 1)
    path = next(folder.rglob("*.mid"))
    midi, bank = mido.MidiFile(path), own_bank()
    seconds = midi.length
    blocks = int(seconds * SAMPLE_RATE_HZ / BLOCK_FRAMES)
    ours = least(lambda: [len(b) for b in render(midi, bank, frozenset(range(16)), blocks)])
    print(f"our render: {seconds / ours:.0f} times real time")
    parsed = pretty_midi.PrettyMIDI(str(path))
    theirs = least(lambda: parsed.fluidsynth(44_100, str(bank)), 1)
    told("pretty_midi's rendering", seconds, theirs, ours)
    if shutil.which("fluidsynth"):
        dry = ["-o", "synth.reverb.active=0", "-o", "synth.chorus.active=0"]
        wav = ["-F", str(folder / "out.wav"), "-r", "44100"]
        command = ["fluidsynth", "-ni", *dry, *wav, str(bank), str(path)]
        program = least(lambda: subprocess.run(command, check=True, capture_output=True))
        told("the fluidsynth program, dry", seconds, program, ours)


def told(who: str, seconds: float, theirs: float, ours: float) -> None:
    times = seconds / theirs
    print(f"against {who} ({times:.0f} times real time): {theirs / ours:.2f} times as fast")


def measure_counts(folder: Path, jobs: int, most: int) -> None:
    """Time and peak memory a track, each count in a process of its own."""
    for tracks in (1, 10, 100, 1_000):
        if tracks > most:
            break
        count = tracks if tracks == 1 else tracks // 4 * 4
        seconds, minutes, megabytes = in_a_process(folder, count, jobs)
        each = 1000 * seconds / minutes
        print(
            f"{count} tracks of {minutes:.0f} minutes: {seconds:.1f} s, {each:.0f} ms a minute, "
            f"{megabytes:.0f} MB at most"
        )
    *_, megabytes = in_a_process(folder, 40, jobs, session=True)
    import soundfile

    minutes = soundfile.info(next(folder.rglob("session.mp3"))).duration / 60
    print(f"40 tracks and a session of {minutes:.0f} minutes: {megabytes:.0f} MB at most")


def in_a_process(
    folder: Path, tracks: int, jobs: int, *, session: bool = False
) -> tuple[float, float, float]:
    """Seconds, minutes made and peak MB of a build in a process of its own, once it is warm."""
    words = [str(Path(__file__).parent), str(folder), str(tracks), str(jobs), str(int(session))]
    counted = subprocess.run(
        [sys.executable, "-c", COUNT_CODE, *words], capture_output=True, text=True, check=True
    )
    seconds, minutes, megabytes = map(float, counted.stdout.split())
    return seconds, minutes, megabytes


# VmHWM, since ru_maxrss remembers the process that it was forked from.
COUNT_CODE = """
import pathlib, re, sys, time
sys.path.insert(0, sys.argv[1])
from make_speed import build
tracks, jobs, session = map(int, sys.argv[3:])
build(pathlib.Path(sys.argv[2]), 1, 1)
began = time.perf_counter()
minutes = build(pathlib.Path(sys.argv[2]), tracks, jobs, session=bool(session))
seconds = time.perf_counter() - began
status = pathlib.Path("/proc/self/status").read_text()
print(seconds, minutes, int(re.search(r"VmHWM:\\s+(\\d+)", status)[1]) / 1024)
"""


def measure_starts(folder: Path, jobs: int) -> None:
    def cpu(*words: str) -> float:
        before = resource.getrusage(resource.RUSAGE_CHILDREN)
        subprocess.run(
            [sys.executable, "-m", "playalong.cli", *words], capture_output=True, check=True
        )
        after = resource.getrusage(resource.RUSAGE_CHILDREN)
        return after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime

    print(f"playalong --help: {min(cpu('--help') for _ in range(ROUNDS)):.2f} s of CPU")
    drill = folder.parent / "again.toml"
    made = len(list(folder.rglob("*.mid")))
    drill.write_text(drill_text(made, len(KEYS)), encoding="utf-8")
    again = [
        "make",
        str(drill),
        "--out",
        str(folder / "again"),
        "--no-session",
        "--quiet",
        "--jobs",
        str(jobs),
    ]
    cpu(*again)
    print(f"a build of {made} tracks that stands already: "
          f"{least(lambda: cpu(*again)):.2f} s")  # fmt: skip


def main() -> None:
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawTextHelpFormatter
    )
    parser.add_argument("--jobs", type=int, default=os.cpu_count() or 1)
    parser.add_argument("--most", type=int, default=1_000, help="tracks in the largest build")
    asked = parser.parse_args()
    python = platform.python_version()
    print(f"{platform.machine()}, {os.cpu_count()} cores, Python {python}, {platform.system()}")
    with tempfile.TemporaryDirectory() as folder:
        out = Path(folder, "out")
        measure_build(out, asked.jobs)
        measure_render(out)
        measure_counts(out, asked.jobs, asked.most)
        measure_starts(out, asked.jobs)


if __name__ == "__main__":
    main()
