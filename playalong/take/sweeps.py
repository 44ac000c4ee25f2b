"""Where the track lies in a recording, by the sweeps of its clicks that leaked into it.

A matched filter finds every sweep: band-pass, divided by the local level, so that a loud note does
not look like one. All sweeps of a count-in must be there, since one loud transient fools a sum.
Only the peaks are kept, a handful a minute, so an hour of recording costs no more memory than a
minute.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from playalong.performance.clock import SAMPLE_RATE_HZ
from playalong.performance.timeline import Timeline
from playalong.take.filters import at_rate, banded, convolved
from playalong.take.recording import Samples, Sounds
from playalong.take.spectra import Floats

HEAD_SECONDS = 0.2  # of a track, in which its first sweep is
SWEEP_SECONDS = 0.026
LEVEL_SECONDS = 0.25
BLOCK_SECONDS = 10
KEPT_STRENGTH = 2.0  # against the filter's answer to what sounds around
SURE_STRENGTH = 4.2  # of all sweeps of a count-in; no leak reached 1.6, a leak at -50 dB 4.6 to 12
CLEAREST = 0.5  # of the strongest count-in: the filter also answers to loud sweeps that are not due
APART_SECONDS = 0.004  # peaks nearer than this are one
SPACING_SECONDS = 0.0015  # how far a sweep may lie from where the others want it
MOST_DRIFT = 300e-6  # two crystals that are 100 ppm off, and room (from memory)
DRIFTS_APART = 150e-6  # of count-in and whole: more betrays sound that is missing
DROP_SECONDS = 0.001
LEAST_LEFT = 2  # sweeps of a count-in that a recorder was started in
LOST_SECONDS = 0.5  # of a recording that may have dropped out and still be known


@dataclass(frozen=True)
class Peaks:
    """Sweeps that may be in a recording: seconds of its own clock, rising; how strong."""

    seconds: Floats
    strength: Floats

    def near(self, at: float, within: float) -> tuple[float, float] | None:
        """The strongest within so many seconds: (seconds, strength)."""
        first, last = np.searchsorted(self.seconds, [at - within, at + within])
        if first == last:
            return None
        best = first + int(np.argmax(self.strength[first:last]))
        return float(self.seconds[best]), float(self.strength[best])


@dataclass(frozen=True)
class Placed:
    """A track's place in a recording. Without `ppm` the drift of the clocks is not known."""

    offset_seconds: float  # of the track's first frame, on the recording's clock
    ppm: float | None
    how: str  # both, count-in, close or playing
    strength: float
    dropped: bool = False  # sound is missing from the recording

    def seconds_in_recording(self, track_seconds: float | Floats) -> Floats:
        return np.asarray(self.offset_seconds + track_seconds / (1 + (self.ppm or 0.0) * 1e-6))


def find_peaks(recording: Sounds, track_head: Samples) -> Peaks:
    """Of the sweep with which a track begins, as its own file has it (44.1 kHz, mono)."""
    from scipy.ndimage import maximum_filter1d, uniform_filter1d

    rate = recording.rate_hz
    head = at_rate(track_head[: round(HEAD_SECONDS * SAMPLE_RATE_HZ)], rate)
    sweep = banded(head, rate)[: round(SWEEP_SECONDS * rate)]
    sweep /= np.linalg.norm(sweep) + 1e-12
    around, near = rate, max(round(1e-4 * rate), 1)
    seconds, strength = [], []
    for start in range(0, recording.frames, BLOCK_SECONDS * rate):
        stop = min(start + BLOCK_SECONDS * rate, recording.frames)
        high = banded(recording.read(start - around, stop + around), rate)
        level = np.sqrt(np.maximum(uniform_filter1d(high**2, round(LEVEL_SECONDS * rate)), 0))
        floor = 0.01 * np.sqrt(np.mean(high**2)) + 1e-9
        answer = np.abs(convolved(high / (level + floor), sweep[::-1])[len(sweep) - 1 :])
        around_it = uniform_filter1d(maximum_filter1d(answer, 2 * near + 1), around // 2)
        strong = answer / (around_it + 0.5 * float(np.median(around_it)) + 1e-12)
        highest = maximum_filter1d(answer, 2 * round(APART_SECONDS * rate) + 1)
        found = np.flatnonzero((answer == highest) & (strong > KEPT_STRENGTH))
        found = found[(found >= around) & (found < around + stop - start)]
        seconds.append((start - around + found + _between(answer, found)) / rate)
        strength.append(strong[found])
    return Peaks(
        np.concatenate(seconds or [np.zeros(0)]), np.concatenate(strength or [np.zeros(0)])
    )


def _between(values: Floats, peaks: NDArray[np.int64]) -> Floats:
    """How far from its sample each peak lies: the top of the parabola through three."""
    left, top, right = values[peaks - 1], values[peaks], values[peaks + 1]
    return np.asarray(0.5 * (left - right) / (left - 2 * top + right - 1e-12))


def sweep_times(timeline: Timeline) -> tuple[list[float], list[float]]:
    """Seconds of the sweeps that count in, and of those that close."""
    sweeps = [click for click in timeline.clicks if click.sweep]
    return (
        [click.at_seconds for click in sweeps if click.count_in],
        [click.at_seconds for click in sweeps if not click.count_in],
    )


def starts(peaks: Peaks, timeline: Timeline) -> list[Placed]:
    """Every place in the recording where the track begins, in order of time."""
    first, _ = sweep_times(timeline)
    found: list[tuple[float, float]] = []
    for at, strength in zip(peaks.seconds, peaks.strength, strict=True):
        if strength < SURE_STRENGTH:
            continue
        offset = float(at) - first[0]
        others = [peaks.near(offset + each, SPACING_SECONDS) for each in first]
        weakest = min((other[1] if other else 0.0) for other in others)
        if weakest >= SURE_STRENGTH:
            found.append((offset, weakest))
    least = CLEAREST * max((strength for _, strength in found), default=0.0)
    return [
        _fitted(peaks, timeline, offset, strength)
        for offset, strength in found
        if strength >= least
    ]


def started_late(
    peaks: Peaks, timeline: Timeline, near_seconds: float, within: float
) -> Placed | None:
    """The place by the closing sweeps and what a late recorder left of the count-in."""
    first, last = sweep_times(timeline)
    ends = _end(peaks, last, near_seconds, within, SURE_STRENGTH)
    if ends is None:
        begun = _left_of(peaks, first, near_seconds, within)
        offset = None if begun is None else near_seconds + begun
        return None if offset is None else Placed(offset, None, "count-in", SURE_STRENGTH)
    offset = near_seconds + ends
    drift = MOST_DRIFT * timeline.seconds + SPACING_SECONDS
    begun = _left_of(peaks, first, offset, drift)
    if begun is None:
        return Placed(offset, None, "close", SURE_STRENGTH)
    shifted = [(each, begun) for each in first] + [(each, 0.0) for each in last]
    return _drawn(peaks, shifted, offset, SURE_STRENGTH)


def _left_of(peaks: Peaks, sweeps: Sequence[float], offset: float, within: float) -> float | None:
    """How far what is left of a count-in lies from where an offset has it. Its first may be cut."""
    left = [each for each in sweeps if offset + each > -within]
    rest = _end(peaks, left, offset, within, SURE_STRENGTH)
    if rest is None:
        return None
    near = [peaks.near(offset + each + rest, SPACING_SECONDS) for each in left]
    there = sum(peak is not None and peak[1] >= SURE_STRENGTH for peak in near)
    return rest if there >= max(LEAST_LEFT, len(left) - 1) else None


def _drawn(
    peaks: Peaks, shifted: Sequence[tuple[float, float]], offset: float, least: float
) -> Placed:
    """A straight line through sweeps, each near where its own shift has it."""
    written, heard = [], []
    for each, rest in shifted:
        peak = peaks.near(offset + each + rest, SPACING_SECONDS)
        if peak and peak[1] >= least:
            written.append(each)
            heard.append(peak[0])
    slope, start = _line(np.array(written), np.array(heard))
    return Placed(start, (1 / slope - 1) * 1e6, "both", least)


def _fitted(peaks: Peaks, timeline: Timeline, offset: float, strength: float) -> Placed:
    """A straight line through the sweeps' own places: offset and drift."""
    first, last = sweep_times(timeline)
    due = [(each, SPACING_SECONDS) for each in first]
    least = 0.4 * strength
    ends = _end(peaks, last, offset, MOST_DRIFT * timeline.seconds + SPACING_SECONDS, least)
    lost = ends is None and _end(peaks, last, offset, LOST_SECONDS, least) is not None
    due += [(each + (ends or 0.0), SPACING_SECONDS) for each in last if ends is not None]
    written, heard = [], []
    for each, within in due:
        peak = peaks.near(offset + each, within)
        if peak and peak[1] >= least:
            written.append(each)
            heard.append(peak[0])
    rest = np.array(heard) - np.array(written)
    count_in = [value for value, each in zip(rest, written, strict=True) if each <= first[-1]]
    dropped = lost or bool(np.ptp(count_in) > DROP_SECONDS)
    if ends is not None and len(count_in) > 2:
        slope, _ = np.polyfit(written[: len(count_in)], count_in, 1)
        whole = ends / (last[0] - first[0])
        dropped = dropped or abs(float(slope) - whole) > DRIFTS_APART
    if ends is None or dropped:
        return Placed(float(np.median(count_in)), None, "count-in", strength, dropped)
    places = np.array([each if each <= first[-1] else each - ends for each in written])
    slope, start = _line(places, np.array(heard))
    return Placed(start, (1 / slope - 1) * 1e6, "both", strength)


def _end(
    peaks: Peaks, last: Sequence[float], offset: float, within: float, least: float
) -> float | None:
    """How far the closing sweeps lie from where an offset has them. A note may hide one."""
    best, strongest = None, 0.0
    for hidden in last:
        first, end = np.searchsorted(
            peaks.seconds, [offset + hidden - within, offset + hidden + within]
        )
        for at in peaks.seconds[first:end]:
            rest = float(at) - offset - hidden
            others = [peaks.near(offset + each + rest, SPACING_SECONDS) for each in last]
            found = [other[1] for other in others if other]
            if max(found) >= least and sum(found) > strongest:
                best, strongest = rest, sum(found)
    return best


def _line(written: Floats, heard: Floats) -> tuple[float, float]:
    """Slope and start of the line through all but what lies apart."""
    for _ in range(2):
        slope, start = np.polyfit(written, heard, 1)
        rest = np.abs(heard - start - slope * written)
        keep = rest <= max(2e-5, 2.5 * float(np.median(rest)))
        written, heard = written[keep], heard[keep]
    return float(slope), float(start)


def last_whole(placed: Sequence[Placed]) -> Placed | None:
    """Of several starts, the last that is whole: a false start breaks off before the next."""
    whole = [each for each in placed if each.how == "both"]
    found = whole or list(placed)
    return found[-1] if found else None
