"""The body stays while the string moves: a bent note has the colour of one struck at its pitch."""

from __future__ import annotations

import numpy as np
import pyloudnorm
import pytest
from chain import GUIDE, Played, play
from measure import RATE_HZ, Floats, cut

RANGES = {"violin": (55, 88), "viola": (48, 81), "cello": (36, 72), "bass": (28, 55)}
LETTERS = ("C", "C#", "D", "D#", "E", "F", "F#", "G", "G#", "A", "A#", "B")


def written(instrument: str, key: int) -> str:
    """A bass sounds an octave lower than it reads."""
    key += 12 * (instrument == "bass")
    return f"{LETTERS[key % 12]}{key // 12 - 1}"


def bent_and_struck(instrument: str, first: int, last: int) -> tuple[Floats, Floats]:
    """The end of a slurred slide, and its target struck by itself."""
    bar = f"( {written(instrument, first)} ~{written(instrument, last)} ) r "
    played = play(
        bar + written(instrument, last), instrument=instrument, note='"quarter"', passes="1"
    )
    bent, struck = played.notes[1:]
    sound = played.sound(*GUIDE)
    return tuple(cut(sound, n["from"] + 0.2, n["from"] + 0.95) for n in (bent, struck))  # type: ignore[return-value]


def centroid_hz(sound: Floats, hz: float) -> float:
    """Of the amplitudes of the partials up to 12 kHz."""
    spectrum = np.abs(np.fft.rfft(sound * np.hanning(len(sound))))
    partials = hz * np.arange(1, int(12_000 / hz) + 1)
    places = np.rint(partials * len(sound) / RATE_HZ).astype(int)
    peaks = np.array([spectrum[place - 2 : place + 3].max() for place in places])
    return float(np.sum(peaks * partials) / np.sum(peaks))


def lufs(sound: Floats) -> float:
    return float(pyloudnorm.Meter(RATE_HZ, filter_class="DeMan").integrated_loudness(sound))


@pytest.mark.parametrize("instrument", RANGES)
@pytest.mark.parametrize("half_steps", [4, 12])
def test_a_bent_note_has_the_colour_and_the_loudness_of_a_struck_one(
    instrument: str, half_steps: int
) -> None:
    low, high = RANGES[instrument]
    for key in range(low, high - half_steps + 1, 5):
        for first, last in ((key, key + half_steps), (key + half_steps, key)):
            bent, struck = bent_and_struck(instrument, first, last)
            hz = 440 * 2 ** ((last - 69) / 12)
            assert centroid_hz(bent, hz) / centroid_hz(struck, hz) == pytest.approx(1, abs=0.02)
            assert lufs(bent) == pytest.approx(lufs(struck), abs=0.2)


def held(instrument: str, key: int) -> Floats:
    played: Played = play(
        f"{written(instrument, key)}*4", 120, instrument=instrument, note='"quarter"', passes="1"
    )
    (note,) = played.notes
    return cut(played.sound(*GUIDE), note["from"] + 0.2, note["to"] - 0.1)


@pytest.mark.parametrize("instrument", RANGES)
def test_neighbouring_keys_are_within_8_per_cent_in_colour_and_all_equally_loud(
    instrument: str,
) -> None:
    low, high = RANGES[instrument]
    sounds = [held(instrument, key) for key in range(low, high + 1)]
    colours = [
        centroid_hz(sound, 440 * 2 ** ((low + place - 69) / 12))
        for place, sound in enumerate(sounds)
    ]
    assert (2 ** np.abs(np.diff(np.log2(colours)))).max() < 1.08
    loudness = [lufs(sound) for sound in sounds]
    assert max(loudness) - min(loudness) < 0.5


@pytest.mark.parametrize("instrument", RANGES)
def test_the_bow_is_heard_and_none_of_its_noise_comes_back_within_a_second(
    instrument: str,
) -> None:
    """Partials stand 31 to 35 dB above what lies between them."""
    low, high = RANGES[instrument]
    for key in range(low, high, 9):
        hz = 440 * 2 ** ((key - 69) / 12)
        played = play(f"{written(instrument, key)}*4", instrument=instrument, passes="1",
                      note='"quarter"')  # fmt: skip
        (note,) = played.notes
        sound = cut(played.sound(*GUIDE), note["from"] + 0.3, note["to"] - 0.2)
        spectrum = np.fft.rfft(sound * np.blackman(len(sound)), 2 * len(sound))
        bins_hz = np.arange(len(spectrum)) * RATE_HZ / (2 * len(sound))
        tone = np.abs((bins_hz + hz / 2) % hz - hz / 2) < 3
        heard = (bins_hz > 30) & (bins_hz < 10_000)
        power = np.abs(spectrum) ** 2
        noise = power[heard & ~tone].mean() * heard.sum()
        assert 31 < 10 * np.log10(power[heard & tone].sum() / noise) < 35, key
        alike = np.fft.irfft(np.where(heard & ~tone, power, 0))
        late = slice(round(0.1 * RATE_HZ), RATE_HZ)
        assert np.abs(alike[late]).max() < 0.1 * alike[0], key
