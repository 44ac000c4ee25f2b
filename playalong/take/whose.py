"""Player or track? In unison neither level nor phase can tell alone, so both are asked.

Leak alone was coherent with the track by 0.85 to 1.00 and stood up to 3.3 dB above the sweeps'
gain in rooms of up to 0.9 s; a player within 2 cents reached a coherence of 0.98, and stood 10 dB
above it at a leak of -13 dB, in 49 of 50 notes more than 5.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from playalong.performance.timeline import Timeline
from playalong.take.clock import OnTrackClock, spectra
from playalong.take.recording import InMemory
from playalong.take.spectra import Spectra

PARTIALS = 8
HIGHEST_HZ = 6000.0
COHERENT = 0.7  # of a leak that is as loud as the sweeps say
ROOM_DB = 3.0  # by which the room may lift it
CLEAR_SWEEP = 0.5  # share of what sounds that is the sweep: packed files make noise of some
COHERENT_BY_DB = 0.08  # more must it be for every dB beyond


@dataclass(frozen=True)
class Leak:
    """The track as it leaks into the recording."""

    gain_db: float  # of the recording's track against the track's file
    db: float

    def explains(self, seen: Spectra, own: Spectra, hz: float, rows: slice, step: int = 1) -> bool:
        """Whether what sounds at a pitch is no more than the track's own sound.

        A step of 2 asks for its odd partials alone, which the octave above it has not.
        """
        share, gain_db = _likeness(seen, own, hz, rows, step)
        beyond_db = max(gain_db - self.gain_db - ROOM_DB, 0.0)
        return share > COHERENT + COHERENT_BY_DB * beyond_db


def _likeness(
    seen: Spectra, own: Spectra, hz: float, rows: slice, step: int
) -> tuple[float, float]:
    """Share of the power that is the track through one gain a partial, and the gain of all.

    The gains' mean is weighted by how large the track's partials are: what a player adds is mostly
    there, and a room that lifts one partial counts little.
    """
    alike = total = gain = sizes = 0.0
    for n in range(1, PARTIALS + 1, step):
        middle = round(n * hz / seen.bin_hz)
        if middle + 2 > seen.values.shape[1] or n * hz > HIGHEST_HZ:
            break
        bins = slice(middle - 1, middle + 2)
        heard, known = seen.values[rows, bins].ravel(), own.values[rows, bins].ravel()
        power, known_power = np.vdot(heard, heard).real, np.vdot(known, known).real
        alike += float(abs(np.vdot(known, heard)) ** 2 / (known_power + 1e-12))
        total += float(power)
        size = float(np.sqrt(known_power))
        gain += size * float(power) / (float(known_power) + 1e-9)
        sizes += size
    return alike / (total + 1e-12), float(10 * np.log10(gain / (sizes + 1e-12) + 1e-12))


def leak_of(sound: OnTrackClock, own: InMemory, timeline: Timeline, window: int) -> Leak | None:
    """The leak's gain, from the sweeps; None where none of them is in the recording."""
    gains: list[tuple[float, float]] = []  # and how much of each is the sweep
    for click in timeline.clicks:
        at = click.at_seconds
        if not click.sweep or not sound.from_seconds < at < sound.to_seconds - 0.1:
            continue
        heard, known = (spectra(each, at + 0.005, at + 0.02, 2048) for each in (sound, own))
        band = slice(int(1200 / heard.bin_hz), int(6000 / heard.bin_hz))
        there, written = heard.values[:, band].ravel(), known.values[:, band].ravel()
        power, known_power = np.vdot(there, there).real, np.vdot(written, written).real
        alike = abs(np.vdot(written, there)) ** 2 / (power * known_power + 1e-12)
        gains.append((float(power / (known_power + 1e-12)), float(alike)))
    if not gains:
        return None
    clear = [gain for gain, alike in gains if alike > CLEAR_SWEEP]
    gain = float(np.median(clear)) if clear else min(gain for gain, _ in gains)
    gain_db = float(10 * np.log10(gain + 1e-15))
    rms = float(np.sqrt(np.mean(np.square(own.samples))))
    level = 10 * np.log10((rms * window / 4) ** 2 * 2 + 1e-15)
    return Leak(gain_db, gain_db + level)
