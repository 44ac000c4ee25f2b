"""A take whose truth is known: a timeline played by recorded notes, into a room, beside the track.

Every random choice comes from one seed. Truth is computed from the pitch curve that the notes
are read along, by the definitions that `playalong.take` states.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray
from recorded import RATE_HZ, Floats, Recorded
from scipy.ndimage import map_coordinates, spline_filter1d
from scipy.signal import butter, fftconvolve, resample_poly, sosfilt

from playalong.performance.timeline import Timeline, TimelineNote

OPEN_HZ = tuple(
    440 * 2 ** (n / 12) for n in (-41, -36, -33, -31, -26, -24, -19, -14, -12, -7, 0, 7)
)


@dataclass(frozen=True)
class Condition:
    """How a take is played and recorded. Levels in dB against the player's."""

    name: str
    leak_db: float | None = -40.0  # None: headphones
    noise_db: float = -45.0
    ppm: float = 0.0
    vibrato: float = 0.0  # share of the long notes
    wrong: float = 0.0
    missing: float = 0.0
    late: float = 0.0
    near: float = 0.0  # share of the notes played within 2 cents
    silent: bool = False
    phone: bool = False
    slurs: bool = True
    start_seconds: float = 1.7  # of the track, in the recording; negative: started late
    stop_seconds: float = 0.8  # after the track; negative: stopped early
    reverb_seconds: float = 0.35
    far: float = 0.0  # share of the notes played anywhere within 60 cents
    wrong_cents: tuple[float, ...] = (-300, -200, -100, 100, 200, 300)
    open_string: float = 0.0  # share of the notes for which the open string sounds
    late_ms: tuple[float, float] = (60, 140)
    vibrato_cents: tuple[float, float] = (8, 25)
    vibrato_hz: tuple[float, float] = (4.8, 6.5)
    slide_seconds: tuple[float, float] = (0.08, 0.2)
    past_cents: float = 15.0  # of shifts, as a spread
    hum_hz: float | None = None  # of the mains, with what lies above it
    hum_db: float = -40.0
    broadband_db: float | None = None


@dataclass
class Truth:
    """Of one note, by its place in the timeline's JSON."""

    played: bool
    cents: float = 0.0
    onset_ms: float = 0.0
    fresh: bool = True
    has_moment: bool = False  # a slurred note that arrives from another pitch
    vibrato_cents: float = 0.0
    arrival_ms: float | None = None
    overshoot_cents: float | None = None


@dataclass
class Take:
    sound: Floats
    notes: dict[int, Truth]
    offset_seconds: float
    ppm: float
    extras: dict[str, object] = field(default_factory=dict)


def take_of(
    timeline: Timeline,
    track: NDArray[np.float32],
    recorded: list[Recorded],
    condition: Condition,
    seed: int,
) -> Take:
    rng = np.random.default_rng(seed)
    frames = len(track) + RATE_HZ
    player, truths = _player(timeline, recorded, condition, rng, frames)
    loud = np.sqrt(np.mean(player[np.abs(player) > 1e-4] ** 2)) if player.any() else 0.05
    sound = _in_room(player, rng, condition.reverb_seconds)
    if condition.leak_db is not None:
        heard = np.pad(np.asarray(track, float), (0, frames - len(track)))
        heard = sosfilt(butter(1, [150, 12_000], "band", fs=RATE_HZ, output="sos"), heard)
        heard = _in_room(heard, rng, condition.reverb_seconds)
        gain = loud * 10 ** (condition.leak_db / 20) / np.sqrt(np.mean(np.square(track)))
        sound = sound + gain * heard
    before = max(condition.start_seconds, 0)
    sound = np.pad(sound, (round(before * RATE_HZ), RATE_HZ))
    noise = sosfilt(butter(1, 2000, fs=RATE_HZ, output="sos"), rng.standard_normal(len(sound)))
    sound += noise / noise.std() * loud * 10 ** (condition.noise_db / 20)
    if condition.broadband_db is not None:
        sound += rng.standard_normal(len(sound)) * loud * 10 ** (condition.broadband_db / 20)
    if condition.hum_hz is not None:
        sound += _hum(len(sound), condition.hum_hz) * loud * 10 ** (condition.hum_db / 20)
    sound = _on_a_clock(sound, condition.ppm)
    offset = round(before * RATE_HZ) / RATE_HZ * (1 / (1 + condition.ppm * 1e-6))
    if condition.start_seconds < 0:
        cut = round(-condition.start_seconds * RATE_HZ)
        sound, offset = sound[cut:], offset - cut / RATE_HZ
    end = round((offset + timeline.seconds + condition.stop_seconds) * RATE_HZ)
    sound = sound[:end]
    if condition.phone:
        sound = _phone(sound)
    return Take(sound * 0.5 / max(np.abs(sound).max(), 1e-9), truths, offset, condition.ppm)


def _player(
    timeline: Timeline,
    recorded: list[Recorded],
    condition: Condition,
    rng: np.random.Generator,
    frames: int,
) -> tuple[Floats, dict[int, Truth]]:
    places = {id(note): place for place, note in enumerate(timeline.all_notes)}
    notes = [note for note in timeline.notes if not note.is_given]
    sound = np.zeros(frames)
    truths = {places[id(note)]: Truth(False) for note in notes}
    if condition.silent:
        return sound, truths
    bow: list[tuple[TimelineNote, Truth]] = []
    for note in notes:
        truth = truths[places[id(note)]]
        if rng.random() < condition.missing:
            _play(bow, recorded, condition, rng, sound)
            bow = []
            continue
        _choose(note, truth, condition, rng)
        slurred = condition.slurs and rng.random() < (0.7 if note.slide else 0.5)
        joins = bow and note.from_seconds - bow[-1][0].to_seconds < 0.02 and len(bow) < 5
        if not (slurred and joins):
            _play(bow, recorded, condition, rng, sound)
            bow = []
        bow.append((note, truth))
    _play(bow, recorded, condition, rng, sound)
    return sound, truths


def _choose(
    note: TimelineNote, truth: Truth, condition: Condition, rng: np.random.Generator
) -> None:
    truth.played = True
    truth.cents = float(np.clip(rng.normal(0, 9), -28, 28))
    if rng.random() < condition.near:
        truth.cents = float(rng.uniform(-2, 2))
    if rng.random() < condition.wrong:
        truth.cents += float(rng.choice(condition.wrong_cents))
    elif condition.far and rng.random() < condition.far:
        truth.cents = float(rng.uniform(-60, 60))
    if condition.open_string and note.finger and rng.random() < condition.open_string:
        below = [hz for hz in OPEN_HZ if hz < note.hz * 2 ** (-80 / 1200)]
        truth.cents = 1200 * float(np.log2(max(below) / note.hz)) if below else truth.cents
    spread = 30 if note.to_seconds - note.from_seconds > 0.5 else 12
    truth.onset_ms = float(np.clip(rng.normal(0, spread), -2 * spread, 2 * spread))
    if rng.random() < condition.late:
        truth.onset_ms = float(rng.uniform(*condition.late_ms))
    if rng.random() < condition.vibrato and note.to_seconds - note.from_seconds > 0.6:
        truth.vibrato_cents = float(rng.uniform(*condition.vibrato_cents))


def _play(
    bow: list[tuple[TimelineNote, Truth]],
    recorded: list[Recorded],
    condition: Condition,
    rng: np.random.Generator,
    sound: Floats,
) -> None:
    """One bow: one recorded note along the curve of all that is played on it."""
    if not bow:
        return
    start = bow[0][0].from_seconds + bow[0][1].onset_ms / 1000
    end = bow[-1][0].to_seconds - rng.uniform(0.0, 0.03)
    t = start + np.arange(int((end - start) * RATE_HZ)) / RATE_HZ
    goal = [1200 * np.log2(note.hz) + truth.cents for note, truth in bow]
    curve = np.full(len(t), goal[0])
    bends = np.zeros(len(t))
    for number, (note, truth) in enumerate(bow):
        begins = note.from_seconds + truth.onset_ms / 1000
        over = 0.0
        if number:
            truth.fresh = False
            slides = note.slide is not None and bool(note.slide.curve)
            takes = rng.uniform(*condition.slide_seconds) if slides else rng.uniform(0.006, 0.014)
            takes = min(takes, 0.4 * (begins - bow[number - 1][0].from_seconds))
            step = goal[number] - goal[number - 1]
            if slides and abs(step) > 60 and rng.random() < 0.6:
                over = float(rng.normal(0, condition.past_cents)) * np.sign(step)
            curve += _eased(t, begins - takes, begins) * (step + over)
            if over:
                rest, back = rng.uniform(0.045, 0.07), rng.uniform(0.06, 0.12)
                curve -= _eased(t, begins + rest, begins + rest + back) * over
        if truth.vibrato_cents:
            rate, to = rng.uniform(*condition.vibrato_hz), note.to_seconds
            grown = _eased(t, begins + 0.1, begins + 0.25) * (1 - _eased(t, to - 0.12, to - 0.05))
            bends += grown * truth.vibrato_cents * np.sin(2 * np.pi * rate * (t - begins))
    wander = np.cumsum(rng.standard_normal(len(t)))
    wander -= np.linspace(0, wander[-1], len(t)) if len(t) else 0
    hz = 2 ** ((curve + bends + 0.2 * wander / max(np.std(wander), 1)) / 1200)
    source = min(recorded, key=lambda each: abs(np.log2(each.hz / hz[0])) + 0.02 * rng.random())
    attack = None if rng.random() < 0.5 else rng.uniform(0.01, 0.05)  # its own, or at once
    tone = source.read(hz, 0.0 if attack is None else 0.5) * 10 ** (rng.uniform(-3, 3) / 20)
    grown = max(int((attack or 0.002) * RATE_HZ), 1)
    tone[:grown] *= np.linspace(0, 1, grown)
    fade = int(0.02 * RATE_HZ)
    tone[-fade:] *= np.linspace(1, 0, fade)
    at = round(start * RATE_HZ)
    if at >= 0:
        sound[at : at + len(tone)] += tone[: len(sound) - at]
    _arrivals(t, curve, goal, bow)


def _arrivals(
    t: Floats, curve: Floats, goal: list[float], bow: list[tuple[TimelineNote, Truth]]
) -> None:
    """Within 50 cents and staying; past it, the mean of 40 ms after the slide became slow."""
    for number, (note, truth) in enumerate(bow):
        if number == 0 or abs(goal[number] - goal[number - 1]) < 60:
            continue  # no moment is heard where the same pitch goes on
        ends = bow[number + 1][0].from_seconds - 0.2 if number + 1 < len(bow) else np.inf
        middle = 0.5 * (note.from_seconds + note.to_seconds)
        before = np.flatnonzero(t < min(max(middle, 0), max(ends, middle)))
        outside = before[np.abs(curve[before] - goal[number]) > 50]
        if not len(outside):
            continue
        at = outside[-1] + 1
        truth.has_moment = True
        truth.onset_ms = float(t[at] - note.from_seconds) * 1000
        if note.slide is None or not note.slide.curve:
            continue
        truth.arrival_ms = truth.onset_ms
        speed = np.abs(np.gradient(curve[at : at + RATE_HZ // 4])) * RATE_HZ / 1000
        slow = at + int(np.argmax(speed < 0.35))
        past = float(np.mean(curve[slow : slow + round(0.04 * RATE_HZ)]) - goal[number])
        truth.overshoot_cents = past * float(np.sign(goal[number] - goal[number - 1]))


def _eased(t: Floats, start: float, end: float) -> Floats:
    """0 before, 1 after, minimum jerk between."""
    s = np.clip((t - start) / max(end - start, 1e-6), 0, 1)
    return s**3 * (10 - 15 * s + 6 * s**2)


def _in_room(dry: Floats, rng: np.random.Generator, seconds: float) -> Floats:
    """Direct sound, a few early reflections and a tail that falls by 60 dB in `seconds`."""
    n = int(seconds * RATE_HZ)
    tail = rng.standard_normal(n) * 10 ** (-3 * np.arange(n) / n)
    tail[: int(0.012 * RATE_HZ)] = 0
    tail = sosfilt(butter(1, 5000, fs=RATE_HZ, output="sos"), tail)
    response = tail * 0.35 / np.sqrt((tail**2).sum())
    for at in rng.uniform(0.002, 0.02, 5):
        response[int(at * RATE_HZ)] += rng.uniform(-0.3, 0.3)
    response[0] += 1
    return fftconvolve(dry, response)[: len(dry)]


def _hum(frames: int, hz: float) -> Floats:
    """Of the mains: what is heard of it lies on its multiples, each softer than the one below."""
    t = np.arange(frames) / RATE_HZ
    hum = sum(np.sin(2 * np.pi * n * hz * t + n * n) / n for n in range(1, 8))
    return np.asarray(hum / np.std(hum))


def _on_a_clock(sound: Floats, ppm: float) -> Floats:
    """As a recorder hears it whose clock counts slower by `ppm`."""
    if not ppm:
        return sound
    spline = spline_filter1d(resample_poly(sound, 2, 1), 3)
    at = 2 * np.arange(len(sound)) * (1 + ppm * 1e-6)
    return map_coordinates(spline, [at], order=3, prefilter=False, mode="constant")


def _phone(sound: Floats) -> Floats:
    """A gain that rides and what a lossy codec leaves: noise that follows the spectrum."""
    level = np.sqrt(np.convolve(sound**2, np.ones(4410) / 4410, "same"))
    ridden = sound / (level + 0.3 * level.max()) * 0.1
    spectrum = np.fft.rfft(ridden)
    return np.fft.irfft(
        spectrum * (np.fft.rfftfreq(len(ridden), 1 / RATE_HZ) < 14_000), len(ridden)
    )
