"""Where the track lies in a recording into which none of it leaked: by what was played."""

from __future__ import annotations

import numpy as np

from playalong.performance.clock import SAMPLE_RATE_HZ
from playalong.performance.timeline import Timeline
from playalong.take.clock import OnTrackClock, spectra
from playalong.take.recording import Sounds
from playalong.take.spectra import HOP_SECONDS, Floats, window_frames
from playalong.take.sweeps import Placed

BLOCK_SECONDS = 20.0
AROUND_CENTS = np.arange(-40.0, 41.0, 10.0)


def by_playing(recording: Sounds, timeline: Timeline) -> Placed:
    """How strongly each written pitch sounds, laid against when it is due."""
    from scipy.signal import fftconvolve

    notes = [note for note in timeline.notes if not note.is_given]
    pitches = sorted({note.hz for note in notes})
    due = np.zeros((len(pitches), int(timeline.seconds / HOP_SECONDS) + 1), np.float32)
    for note in notes:
        first, last = int(note.from_seconds / HOP_SECONDS), int(note.to_seconds / HOP_SECONDS)
        due[pitches.index(note.hz), first:last] = 1
    due -= due.mean(0)
    heard = _strengths(recording, pitches)
    likeness = sum(fftconvolve(heard[n], due[n][::-1]) for n in range(len(pitches)))
    best = int(np.argmax(likeness))
    strength = float((likeness[best] - np.median(likeness)) / (likeness.std() + 1e-12))
    return Placed((best - due.shape[1] + 1) * HOP_SECONDS, None, "playing", strength)


def _strengths(recording: Sounds, pitches: list[float]) -> Floats:
    """Of each pitch at each time, as a share of what sounds then."""
    sound = OnTrackClock(recording, Placed(0.0, None, "playing", 0.0))
    seconds = recording.frames / recording.rate_hz
    window = window_frames(pitches[0])
    parts = []
    hops = int(BLOCK_SECONDS * SAMPLE_RATE_HZ / 256)
    for number in range(int(seconds / (hops * HOP_SECONDS)) + 1):
        at = number * hops * HOP_SECONDS + 1e-9
        seen = spectra(sound, at, at + (hops - 0.5) * HOP_SECONDS, window)
        rows = slice(0, len(seen))
        parts.append([seen.comb(AROUND_CENTS, hz, rows).max(1) for hz in pitches])
    strengths = np.maximum(np.concatenate([np.array(part) for part in parts], 1), 0)
    total = strengths.sum(0)
    return np.asarray(strengths / (total + 0.3 * np.median(total) + 1e-9))
