"""Takes of any kind, each by one number: `take_battery.py [SAMPLES ...] --seeds 0-20`

Track, instrument, tempo, room, noise, leak, clock, recorder, file and player are drawn by the
seed, so that every false judgement can be looked at again. SAMPLES as for `take_table.py`.
`--bass-lost-below 150` takes away what a small microphone does not hear.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
import time
from pathlib import Path

import numpy as np
import soundfile
from scipy.signal import butter, resample_poly, sosfilt

ROOT = Path(__file__).parents[2]
sys.path[:0] = [str(ROOT), str(ROOT / "tests")]

from played import Condition, Take, take_of  # noqa: E402
from recorded import RATE_HZ, Recorded, bank_notes, file_notes  # noqa: E402
from takes import HEADINGS, Score  # noqa: E402

import playalong  # noqa: E402
from playalong.take.listen import listen_to  # noqa: E402
from playalong.take.recording import opened  # noqa: E402

DRILLS = {  # instrument, strings with a key each, a bar
    "violin": ("G D A E", "p1: 1 2 3 1 p3: 1 2 p1: 2 1"),
    "viola": ("C G D A", "p1: 1 3 p3: 1 3 | 2 ~1 p1: 3 1"),
    "cello": ("C G D A", "p1: 1 2 4 2 | p4: ~1 2 4 p1: ~1"),
    "bass": ("E A D G", "p1: 1 4 p3: 1 4 | 4 1 p1: 4 1"),
}
KEYS = ("C major", "D major", "G major", "F major", "A minor", "Bb major")
STAGES = ("listen", "answer", "check", "alone")
FILES = (  # name, samples a second, channels
    ("take.wav", 44_100, 1),
    ("take.wav", 48_000, 2),
    ("take.wav", 22_050, 1),
    ("take.wav", 16_000, 1),
    ("take.mp3", 44_100, 2),
    ("take.mp3", 48_000, 1),
    ("take.opus", 48_000, 1),
    ("take.ogg", 44_100, 2),
)


def drawn_track(rng: np.random.Generator) -> tuple[str, object, object]:
    """A drill that can be played; what cannot is drawn again."""
    while True:
        instrument = str(rng.choice(list(DRILLS)))
        strings, bar = DRILLS[instrument]
        string, key = str(rng.choice(strings.split())), str(rng.choice(KEYS))
        note, bpm = str(rng.choice(["quarter", "quarter", "eighth"])), int(rng.integers(44, 121))
        bpm = min(bpm, 84) if instrument == "bass" else bpm
        stage, temperament = str(rng.choice(STAGES)), str(rng.choice(["equal", "just"]))
        bars = bar if note == "quarter" or "|" not in bar else bar.replace("| ", "")
        meter = "4/4"
        text = (
            f'title = "Any"\ninstrument = "{instrument}"\nstrings = ["{string}"]\n'
            f'keys = ["{key}"]\nmeter = "{meter}"\nnote = "{note}"\nbar = "{bars}"\nclimb = 2\n'
            f'passes = 1\n[tempo]\nstart = {bpm}\n[tuning]\ntemperament = "{temperament}"\n'
        )
        if note == "quarter" and "|" not in bars:
            text = text.replace(bars, "p1: 1 2 3 1 | p3: 1 2 p1: 2 1")
        try:
            performance = playalong.perform(playalong.write(playalong.parse(text)), bpm, stage)
        except playalong.PlayalongError:
            continue
        name = f"{instrument} {string} {key} {note} {bpm} {stage} {temperament}"
        return name, playalong.timeline_of(performance), playalong.render(performance)


def drawn_condition(rng: np.random.Generator) -> Condition:
    any_of = rng.choice
    return Condition(
        "",
        leak_db=None if rng.random() < 0.15 else float(rng.uniform(-50, -10)),
        noise_db=float(rng.uniform(-60, -40)),
        ppm=float(any_of([0, rng.uniform(-100, 100), rng.uniform(-280, 280)])),
        vibrato=float(any_of([0, 0, 0.5])),
        wrong=float(any_of([0, 0.1])),
        missing=float(any_of([0, 0.1])),
        late=float(any_of([0, 0.1])),
        near=float(any_of([0, 0.3])),
        phone=bool(rng.random() < 0.2),
        start_seconds=float(any_of([1.7, 0.3, rng.uniform(0.5, 8), -rng.uniform(0.3, 8)])),
        stop_seconds=float(any_of([0.8, 3.0, -rng.uniform(1, 6)], p=[0.5, 0.3, 0.2])),
        reverb_seconds=float(rng.uniform(0.3, 1.2)),
        far=float(any_of([0, 0.4])),
        wrong_cents=(-200, -100, 100, 200, -1200, 1200),
        open_string=float(any_of([0, 0.06])),
        late_ms=(60, 150),
        vibrato_cents=(10, 50),
        vibrato_hz=(4, 8),
        slide_seconds=tuple(any_of([(0.04, 0.1), (0.08, 0.2), (0.2, 0.4)])),
        past_cents=float(any_of([5, 15, 30])),
        hum_hz=any_of([None, 50.0, 60.0]),
        hum_db=float(rng.uniform(-50, -35)),
        broadband_db=any_of([None, float(rng.uniform(-60, -40))]),
    )


def written(take: Take, kind: tuple[str, int, int], folder: Path) -> Path:
    """As a recorder leaves it: sampled, in so many channels, packed."""
    name, rate_hz, channels = kind
    common = int(np.gcd(rate_hz, RATE_HZ))
    sound = resample_poly(take.sound, rate_hz // common, RATE_HZ // common)
    both = np.stack([sound * (1 - 0.3 * side) for side in range(channels)], 1)
    path = folder / name
    if path.suffix == ".opus":
        soundfile.write(path, both, rate_hz, format="OGG", subtype="OPUS")
    else:
        soundfile.write(path, both, rate_hz)
    return path


def players(samples: list[Path]) -> dict[str, list[Recorded]]:
    """Who plays which instrument."""
    cello = next((file_notes(each) for each in samples if "cello" in str(each)), None)
    violin = next((file_notes(each) for each in samples if "violin" in str(each)), None)
    high, low = violin or bank_notes(), cello or violin or bank_notes()
    return {"violin": high, "viola": high, "cello": low, "bass": low}


def seeds(text: str) -> range:
    first, _, last = text.partition("-")
    return range(int(first), int(last or first) + 1)


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("samples", nargs="*", type=Path)
    parser.add_argument("--seeds", type=seeds, default=range(12))
    parser.add_argument("--bass-lost-below", type=float, metavar="HZ")
    asked = parser.parse_args()
    playing, whole = players(asked.samples), Score()
    print(HEADINGS)
    with tempfile.TemporaryDirectory() as folder:
        for seed in asked.seeds:
            rng = np.random.default_rng(seed)
            name, timeline, sound = drawn_track(rng)
            condition, kind = drawn_condition(rng), FILES[rng.integers(len(FILES))]
            take = take_of(timeline, sound, playing[name.split()[0]], condition, seed)
            if asked.bass_lost_below:
                lost = butter(2, asked.bass_lost_below, "high", fs=RATE_HZ, output="sos")
                take.sound = sosfilt(lost, take.sound)
            path, one = written(take, kind, Path(folder)), Score()
            began = time.process_time()
            with opened(path) as file:
                data = listen_to(file, sound, timeline).data()
            fast = len(take.sound) / RATE_HZ / (time.process_time() - began)
            one.add(data, take, str(seed))
            whole.add(data, take, str(seed))
            print(f"{seed:3d} {name} {kind} {fast:.0f}x {data['align']}\n    {condition}")
            print(f"{'':22s} {one.row()}")
            print("".join(f"      {each}\n" for each in one.lost), end="", flush=True)
    print(f"{'all':22s} {whole.row()}")


if __name__ == "__main__":
    main()
