"""The figures of the sound, one table, with tools that the project did not write.

    python tests/bench/sound_figures.py [--only colour,drone] [--bank A.sf2 B.sf2]

numpy and scipy for spectra, pyloudnorm for loudness (ITU-R BS.1770), Praat for harmonicity and
pitch. It asks the project for nothing but sound, so that it runs against older checkouts too.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

import numpy as np
import parselmouth
import pretty_midi
import pyloudnorm
from numpy.typing import NDArray
from scipy.signal import butter, resample_poly, sosfilt

import playalong
from playalong.drill.load import parse
from playalong.music.pitch import Pitch
from playalong.performance.performance import Performance
from playalong.shipped import own_bank
from playalong.sound.stems import TrackSound

RATE_HZ = 44_100
Floats = NDArray[np.float64]
Row = tuple[str, str]

# Lowest and highest written pitch that is bent, as sounding keys.
RANGES = {"violin": (55, 88), "viola": (48, 81), "cello": (36, 72), "bass": (28, 55)}
SHARPS = ("C", "C#", "D", "D#", "E", "F", "F#", "G", "G#", "A", "A#", "B")
DRILL = """title = "Figures"
instrument = "{instrument}"
note = "quarter"
passes = 1
bar = "{bar}"
{settings}
"""


def name(instrument: str, key: int) -> str:
    """The pitch as the player writes it: a bass sounds an octave lower."""
    written = key + 12 * (instrument == "bass")
    return f"{SHARPS[written % 12]}{written // 12 - 1}"


def performed(
    instrument: str, bar: str, bpm: int = 60, stage: str = "listen", key: str = "C major",
    settings: str = "",
) -> Performance:  # fmt: skip
    drill = parse(DRILL.format(instrument=instrument, bar=bar, settings=settings))
    string = drill.strings[0] if drill.strings else None
    return playalong.perform(playalong.write(drill, key, string), bpm, stage)


def stem(performance: Performance, which: str, bank: Path | None = None) -> Floats:
    chunks = TrackSound(performance, bank or own_bank()).stem(which)
    return np.concatenate(list(chunks)).astype(np.float64)


def cut(sound: Floats, start: float, end: float) -> Floats:
    return sound[round(start * RATE_HZ) : round(end * RATE_HZ)]


def centroid_hz(sound: Floats, at_hz: float) -> float:
    """Of the amplitudes of a tone's partials up to 12 kHz; what noise lies between is left out."""
    spectrum = np.abs(np.fft.rfft(sound * np.hanning(len(sound))))
    bins_hz = RATE_HZ / len(sound)
    partials = at_hz * np.arange(1, int(12_000 / at_hz) + 1)
    places = np.rint(partials / bins_hz).astype(int)
    peaks = np.array([spectrum[place - 2 : place + 3].max() for place in places])
    return float(np.sum(peaks * partials) / np.sum(peaks))


def lufs(sound: Floats) -> float:
    meter = pyloudnorm.Meter(RATE_HZ, filter_class="DeMan")
    return float(meter.integrated_loudness(sound))


def true_peak_db(sound: Floats) -> float:
    return float(20 * np.log10(np.abs(resample_poly(sound, 4, 1)).max()))


def partial_db(sound: Floats, hz: float) -> float:
    window = np.hanning(len(sound))
    turn = np.exp(-2j * np.pi * hz * np.arange(len(sound)) / RATE_HZ)
    return float(20 * np.log10(2 * abs(np.sum(sound * window * turn)) / window.sum() + 1e-12))


# 1. Colour of a bent note against one that is struck at the same pitch.


def colour() -> Iterator[Row]:
    for half_steps in (4, 12):
        for instrument, (low, high) in RANGES.items():
            ratios, levels = [], []
            for key in range(low, high - half_steps + 1, 3):
                for first, last in ((key, key + half_steps), (key + half_steps, key)):
                    bent, struck = bent_and_struck(instrument, first, last)
                    ratios.append(centroid_hz(bent, hz(last)) / centroid_hz(struck, hz(last)))
                    levels.append(lufs(bent) - lufs(struck))
            yield (
                f"colour of bent against struck, {half_steps} half steps, {instrument}",
                f"x{min(ratios):.2f} to x{max(ratios):.2f}, "
                f"level {min(levels):+.2f} to {max(levels):+.2f} LU",
            )
    for instrument, (low, high) in RANGES.items():
        keys = range(low, high + 1)
        held = [held_note(instrument, key) for key in keys]
        centroids = [centroid_hz(sound, hz(key)) for key, sound in zip(keys, held, strict=True)]
        steps = np.abs(np.diff(np.log2(centroids)))
        levels = [lufs(sound) for sound in held]
        yield (
            f"colour step between neighbouring keys, {instrument}",
            f"{100 * (2 ** steps.max() - 1):.1f} % at most, "
            f"level {max(levels) - min(levels):.2f} LU from end to end",
        )


def bent_and_struck(instrument: str, first: int, last: int) -> tuple[Floats, Floats]:
    bar = f"( {name(instrument, first)} ~{name(instrument, last)} ) r {name(instrument, last)}"
    performance = performed(instrument, bar)
    sound = stem(performance, "guide")
    begin = performance.clock.seconds(performance.music_start)
    return cut(sound, begin + 1.2, begin + 1.95), cut(sound, begin + 3.2, begin + 3.95)


def held_note(instrument: str, key: int) -> Floats:
    performance = performed(instrument, f"{name(instrument, key)}*4", 120)
    sound = stem(performance, "guide")
    begin = performance.clock.seconds(performance.music_start)
    return cut(sound, begin + 0.2, begin + 1.9)


# 2. The drone.


def drone() -> Iterator[Row]:
    high_pass = butter(4, 300, "highpass", fs=RATE_HZ, output="sos")
    for instrument in RANGES:
        losses = []
        for key in ("C major", "Eb major", "F# major", "A major"):
            sound = stem(performed(instrument, "C4*4", key=key), "drone")
            losses.append(lufs(sound) - lufs(np.asarray(sosfilt(high_pass, sound))))
        yield (
            f"drone behind a 300 Hz high-pass, {instrument}",
            f"loses {min(losses):.1f} to {max(losses):.1f} LU",
        )
    for instrument in RANGES:
        worst, where = 0.0, ""
        for key in ("C major", "Eb major", "F# major", "A major", "D major"):
            for octave in (0, 1):
                drop, partial = deepest(instrument, key, octave)
                if drop > worst:
                    worst, where = drop, f"{key}, octave {octave}, partial {partial}"
        yield f"shared partials in the count-in, {instrument}", f"-{worst:.1f} dB ({where})"


def deepest(instrument: str, key: str, octave: int) -> tuple[float, int]:
    """How far a partial that guide and drone share lies below the louder of the two."""
    lowest = {"violin": 55, "viola": 48, "cello": 36, "bass": 28}[instrument]
    tonic = Pitch.of(key.split()[0] + "4").key_number % 12
    low = lowest + (tonic - lowest) % 12 + 12 * octave
    performance = performed(instrument, f"{name(instrument, low)}*4", key=key)
    start = performance.clock.seconds(performance.guide[0].start)
    end = performance.clock.seconds(performance.guide[0].end)
    guide, drone = (cut(stem(performance, w), start + 0.4, end - 0.2) for w in ("guide", "drone"))
    hz, found = performance.guide[0].hz, (0.0, 0)
    for n in range(1, 13):
        if n * hz > 6000:
            break
        alone = max(partial_db(guide, n * hz), partial_db(drone, n * hz))
        loudest = max(partial_db(guide, m * hz) for m in range(1, 13))
        if alone > loudest - 40:
            found = max(found, (alone - partial_db(guide + drone, n * hz), n))
    return found


# 3. Loudness as promised.

LOUDNESS = {
    "listen, violin": ("violin", "p1: 1 2 p3: 1 3", 60, "listen", ""),
    "fast separate eighths at 200, violin": (
        "violin", "p1: 1*1/2 2*1/2 3*1/2 1*1/2 p3: 1*1/2 2*1/2 p1: 2*1/2 1*1/2", 200, "listen",
        'bow = "note"',
    ),
    "staccato, violin at 120": (
        "violin", "p1: 1*1/4 r*3/4 2*1/4 r*3/4 p3: 1*1/4 r*3/4 3*1/4 r*3/4", 120, "listen", "",
    ),
    "only check, cello": ("cello", "C3 ~E3 D3 ~G3", 60, "check", ""),
    "only check, cello at 160": ("cello", "C3 ~E3 D3 ~G3", 160, "check", ""),
    "only alone, bass": ("bass", "A2 ~C3 D3 A2", 60, "alone", ""),
    "only alone, bass, no drone": ("bass", "A2 ~C3 D3 A2", 60, "alone", 'drone.on = "off"'),
    "only alone, bass, no drone, at 40": (
        "bass", "A2 ~C3 D3 A2", 40, "alone", 'drone.on = "off"',
    ),
    "drone off, viola": ("viola", "p1: 1 2 p3: 1 3", 60, "listen", 'drone.on = "off"'),
    "drone off, check, violin at 40": (
        "violin", "p1: 1 2 p3: 1 3", 40, "check", 'drone.on = "off"',
    ),
}  # fmt: skip


def loudness() -> Iterator[Row]:
    for what, (instrument, bar, bpm, stage, settings) in LOUDNESS.items():
        strings = f'strings = ["{"D" if instrument != "bass" else "A"}"]'
        settings = f"{settings}\n{strings if 'p1' in bar else ''}"
        # enough of it that the close does not count
        settings += "\n" + ("climb = 4" if "p1" in bar else "passes = 4")
        text = DRILL if "p1" in bar else DRILL.replace("passes = 1\n", "")
        drill = parse(text.format(instrument=instrument, bar=bar, settings=settings))
        score = playalong.write(drill, "C major", drill.strings[0] if drill.strings else None)
        sound = playalong.render(playalong.perform(score, bpm, stage)).astype(np.float64)
        yield f"loudness, {what}", f"{lufs(sound):.2f} LUFS, peak {true_peak_db(sound):.2f} dBTP"


# 4. Bow noise, attacks.


def noise() -> Iterator[Row]:
    for instrument, (low, high) in RANGES.items():
        held = {key: long_note(instrument, key) for key in range(low, high + 1, 5)}
        found = [harmonicity_db(sound, hz(key)) for key, sound in held.items()]
        repeats = [repeat(sound, hz(key)) for key, sound in held.items()]
        cents = [praat_cents(sound, hz(key)) for key, sound in held.items()]
        yield (
            f"harmonics to noise, {instrument}",
            f"{min(found):.1f} to {max(found):.1f} dB; noise like itself after 0.2 to 0.45 s: "
            f"{max(repeats):.2f}; {max(map(abs, cents)):.2f} cents off at most",
        )
    for instrument, (low, _) in RANGES.items():
        bar = " r ".join([name(instrument, low + 7)] * 2) + " r"
        performance = performed(instrument, bar, 120)
        sound = stem(performance, "guide")
        starts = [performance.clock.seconds(tone.start) for tone in performance.guide[1:]]
        first, second = (cut(sound, start, start + 0.1) for start in starts[:2])
        differs = 10 * np.log10(np.sum((first - second) ** 2) / np.sum(first**2) + 1e-12)
        yield f"one attack against the next, {instrument}", f"they differ by {differs:.0f} dB"


def hz(key: int) -> float:
    return float(440 * 2 ** ((key - 69) / 12))


def long_note(instrument: str, key: int) -> Floats:
    performance = performed(instrument, f"{name(instrument, key)}*4", 60)
    begin = performance.clock.seconds(performance.music_start)
    return cut(stem(performance, "guide"), begin + 0.3, begin + 3.8)


def harmonicity_db(sound: Floats, at_hz: float) -> float:
    """Power of the partials' bins against all the others between 120 Hz and 10 kHz.

    Long windows, so that a bin is far narrower than a partial is from the next.
    """
    window = np.blackman(len(sound))
    power = np.abs(np.fft.rfft(sound * window)) ** 2
    bins_hz = RATE_HZ / len(sound)
    near = np.abs((np.arange(len(power)) * bins_hz + at_hz / 2) % at_hz - at_hz / 2) < 8 * bins_hz
    inside = (np.arange(len(power)) * bins_hz > 30) & (np.arange(len(power)) * bins_hz < 10_000)
    floor = power[inside & ~near].mean() * inside.sum()
    return float(10 * np.log10(power[inside & near].sum() / floor))


def repeat(sound: Floats, at_hz: float) -> float:
    """How like itself the noise is after 0.2 to 0.45 s: the autocorrelation's highest point."""
    spectrum = np.fft.rfft(sound * np.hanning(len(sound)), 2 * len(sound))
    bins_hz = RATE_HZ / (2 * len(sound))
    at = np.arange(len(spectrum)) * bins_hz
    near = np.abs((at + at_hz / 2) % at_hz - at_hz / 2) < 5
    spectrum[near | (at > 10_000) | (at < 120)] = 0
    own = np.fft.irfft(np.abs(spectrum) ** 2)
    taper = np.correlate(*(2 * [np.hanning(2048)]), "full")[2047:]
    weight = np.interp(np.arange(len(sound)), np.linspace(0, len(sound), 2048), taper / taper[0])
    likeness = own[: len(sound)] / own[0] / np.maximum(weight, 1e-3)
    return float(likeness[round(0.2 * RATE_HZ) : round(0.45 * RATE_HZ)].max())


def praat_cents(sound: Floats, at_hz: float) -> float:
    praat = parselmouth.Sound(sound, RATE_HZ)
    heard = praat.to_pitch_ac(
        time_step=0.005, pitch_floor=at_hz / 2, pitch_ceiling=at_hz * 2, very_accurate=True
    ).selected_array["frequency"]
    return float(1200 * np.log2(np.median(heard[heard > 0]) / at_hz))


# 5. Strangers' banks.


def banks(others: list[Path]) -> Iterator[Row]:
    for bank in [own_bank(), *others]:
        for instrument, (low, _) in RANGES.items():
            performance = performed(instrument, f"{name(instrument, low + 7)}*4")
            guide, drone, click = (stem(performance, w, bank) for w in ("guide", "drone", "click"))
            begin = performance.clock.seconds(performance.music_start)
            span = (begin + 0.3, begin + 3.8)
            yield (
                f"{bank.name}, {instrument}",
                f"drone {lufs(cut(drone, *span)) - lufs(cut(guide, *span)):+.1f} LU and click "
                f"{lufs(cut(click, *span)) - lufs(cut(guide, *span)):+.1f} LU against the guide, "
                f"guide {praat_cents(cut(guide, *span), performance.guide[1].hz):+.1f} cents",
            )


def main() -> None:
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawTextHelpFormatter
    )
    parser.add_argument("--only", default="colour,drone,loudness,noise,banks")
    parser.add_argument(
        "--bank",
        type=Path,
        nargs="*",
        default=[Path(pretty_midi.__file__).with_name("TimGM6mb.sf2")],
    )
    asked = parser.parse_args()
    tables: dict[str, Callable[[], Iterator[Row]]] = {
        "colour": colour,
        "drone": drone,
        "loudness": loudness,
        "noise": noise,
        "banks": lambda: banks(asked.bank),
    }
    for only in asked.only.split(","):
        for what, figure in tables[only]():
            print(f"| {what} | {figure} |")
            sys.stdout.flush()


if __name__ == "__main__":
    main()
