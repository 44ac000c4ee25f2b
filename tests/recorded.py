"""Recorded notes, read along any pitch curve: what a player is made of whose pitch is known.

A recording's own pitch is taken from the phases of its partials, by complex demodulation, which is
not how the project listens. Reading it where its phase is the wanted one gives the wanted pitch,
vibrato and all, and keeps bow, attack and tone colour. Sounds are mono float64 at 44.1 kHz.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np
import parselmouth
import pretty_midi
import soundfile
from bank_parser import parse
from numpy.typing import NDArray
from scipy.ndimage import map_coordinates, spline_filter1d, uniform_filter1d
from scipy.signal import resample_poly

RATE_HZ = 44_100
Floats = NDArray[np.float64]
BANK = Path(pretty_midi.__file__).parent / "TimGM6mb.sf2"  # General MIDI, recorded violin notes
LOOPED_SECONDS = 3.0
NOTES = ("Violin Bb2", "Violin D3", "Violin G3", "Violin C4")  # as the bank names them
PARTIALS = 6


@dataclass(frozen=True)
class Recorded:
    """A recorded note: twice its samples for a second, as a spline, and its phase in cycles."""

    hz: float
    spline: Floats
    cycles: Floats  # of the fundamental, at each frame of 44.1 kHz, rising

    @classmethod
    def of(cls, sound: Floats, hz: float) -> Recorded:
        """`hz` is about its pitch: within half a step."""
        own_hz = _own_pitch(sound, hz)
        cycles = np.cumsum(own_hz) / RATE_HZ
        doubled = resample_poly(sound / np.sqrt(np.mean(sound**2)) * 0.1, 2, 1)
        middle = float(np.median(own_hz))
        return cls(middle, spline_filter1d(doubled, 3), cycles - cycles[0])

    @property
    def is_sure(self) -> bool:
        """Whether Praat, too, hears the pitch that is read: its own partials may disagree."""
        sound = parselmouth.Sound(self.read(np.full(3 * RATE_HZ, self.hz))[RATE_HZ // 2 :], RATE_HZ)
        pitch = sound.to_pitch_ac(
            time_step=0.01, pitch_floor=self.hz / 2, pitch_ceiling=self.hz * 2, very_accurate=True
        ).selected_array["frequency"]
        off = 1200 * np.log2(pitch[pitch > 0] / self.hz)
        return len(off) > 0 and max(abs(np.mean(off)), abs(np.median(off))) < 0.7

    def read(self, hz: Floats, from_seconds: float = 0.0) -> Floats:
        """As it sounds at a pitch for each frame; what is longer than it goes round its middle."""
        wanted = np.cumsum(hz) / RATE_HZ + from_seconds * self.hz
        whole = float(self.cycles[-1])
        keep, loop = 0.25 * whole, np.floor(0.7 * whole)
        wanted = np.where(wanted > keep, keep + (wanted - keep) % loop, wanted)  # whole cycles
        at = np.interp(wanted, self.cycles, np.arange(len(self.cycles)))
        return np.asarray(
            map_coordinates(self.spline, [2 * at], order=3, prefilter=False, mode="nearest")
        )


def _own_pitch(sound: Floats, hz: float) -> Floats:
    """Frequency of the fundamental at each frame, from the phases of its partials."""
    for width in (0.25, 0.15):
        total = weight = np.zeros(len(sound))
        for n in range(1, PARTIALS + 1):
            if n * hz > 6000:
                break
            partial = _band(sound, n * hz, max(width * hz, 25.0))
            hop = np.append(partial[1:] * np.conj(partial[:-1]), 0)
            step = _smooth(hop.real) + 1j * _smooth(hop.imag)
            strength = np.abs(step) * n**2
            total = total + strength * np.angle(step) * RATE_HZ / (2 * np.pi * n)
            weight = weight + strength
        own = total / np.maximum(weight, 1e-12)
        hz = float(np.median(own[len(own) // 5 : -len(own) // 5]))
        off = np.abs(1200 * np.log2(np.maximum(own, 1) / hz))
        own = np.where((off < 80) & (weight > 1e-3 * np.median(weight)), own, hz)
    return own


def _band(sound: Floats, hz: float, sigma_hz: float) -> NDArray[np.complex128]:
    """The part of a sound about one frequency, as turning phasors."""
    n = 2 ** int(np.ceil(np.log2(len(sound) + RATE_HZ // 10)))
    spectrum, at = np.fft.fft(sound, n), np.fft.fftfreq(n, 1 / RATE_HZ)
    return np.fft.ifft(spectrum * np.exp(-0.5 * ((at - hz) / sigma_hz) ** 2))[: len(sound)]


def _smooth(values: Floats) -> Floats:
    return uniform_filter1d(values, 2 * int(0.004 * RATE_HZ) + 1)


def bank_notes() -> list[Recorded]:
    """The recorded violin of the General MIDI bank that a test package carries."""
    bank, notes = parse(BANK), []
    for sample in bank.samples():
        name = sample.name.split(b"\0")[0].decode("ascii")
        if name not in NOTES:
            continue
        points = bank.points[sample.start : sample.end] / 32768
        start, end = sample.loop_start - sample.start, sample.loop_end - sample.start
        rounds = int(LOOPED_SECONDS * RATE_HZ / (end - start))
        sound = np.concatenate([points[:start], np.tile(points[start:end], rounds)])
        notes.append(Recorded.of(sound, RATE_HZ / (end - start)))  # the loop is one period
    return sorted(notes, key=lambda note: note.hz)


def file_notes(folder: Path) -> list[Recorded]:
    """Recorded notes in files named after their pitches: `Fs3.wav`."""
    notes = []
    for path in sorted(folder.glob("*.wav")):
        sound, rate = soundfile.read(path, always_2d=True)
        assert rate == RATE_HZ, path
        name = path.stem.split()[0].replace("s", "#")
        hz = float(pretty_midi.note_number_to_hz(pretty_midi.note_name_to_number(name)))
        note = Recorded.of(_trimmed(sound.mean(1))[: 4 * RATE_HZ], hz)
        if note.is_sure:
            notes.append(note)
    return sorted(notes, key=lambda note: note.hz)


def _trimmed(sound: Floats) -> Floats:
    """From where it begins to sound: 30 dB below its typical level."""
    level = np.sqrt(_smooth(sound**2))
    return sound[int(np.argmax(level > 0.03 * np.median(level))) :]
