"""The first synths of a process, made in several threads at once, sound like any other."""

from __future__ import annotations

import subprocess
import sys

CODE = """
import hashlib, threading
from playalong.drill.load import parse
from playalong.drill.stage import STAGES
from playalong.shipped import own_bank
from playalong.sound.midi import STEMS, midi_file
from playalong.performance.perform import perform
from playalong.sound.synth import render
from playalong.score.writing import write

drill = parse('title = "T"\\ninstrument = "viola"\\nbar = "p1: 1 2 3 4 4 3 2 1"')
played = perform(write(drill, drill.keys[0], "D"), 300, STAGES["listen"])
midi = midi_file(played)
sums, start = [], threading.Barrier(4)

def one():
    start.wait()
    sound = render(midi, own_bank(), STEMS["guide"], played.blocks)
    sums.append(hashlib.sha256(b"".join(block.tobytes() for block in sound)).hexdigest())

threads = [threading.Thread(target=one) for _ in range(4)]
for thread in threads: thread.start()
for thread in threads: thread.join()
print(*sums)
"""
PROCESSES = 5


def test_four_threads_that_start_together_make_the_same_sound_in_every_process() -> None:
    sums: list[str] = []
    for _ in range(PROCESSES):
        told = subprocess.run([sys.executable, "-c", CODE], capture_output=True, text=True)
        sums += told.stdout.split()
    assert len(sums) == 4 * PROCESSES
    assert len(set(sums)) == 1
