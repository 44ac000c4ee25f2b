"""The timeline: what sounds when, as data. Tests, the page and later tools read it.

Seconds count from the first frame of the file and are those of the 64-frame blocks on which
the sound acts; keys and pitches are in ASCII. `from` and `to` of a note are the written ones;
`heard_from` stands where the guide enters late.
"""

from __future__ import annotations

import json
from typing import Any

from playalong.music.temperament import cents
from playalong.performance.clock import block_seconds
from playalong.performance.performance import Event, Performance, Slide

FORMAT = "playalong timeline 1"
CURVE_BLOCKS = 6  # a point every 8.7 ms


def timeline(performance: Performance) -> dict[str, Any]:
    """The performance as plain data, ready for JSON."""
    score, clock = performance.score, performance.clock
    drone = performance.drone
    drones = []
    if drone:
        span = {"from": _s(clock.seconds(drone.start)), "to": _s(clock.seconds(drone.end))}
        drones = [{**span, "hz": [_hz(hz) for hz in drone.hz]}]
    return {
        "format": FORMAT,
        "title": score.drill.title,
        "instrument": score.drill.instrument.name,
        "a4_hz": score.drill.tuning.a4_hz,
        "temperament": score.drill.tuning.temperament,
        "bpm": performance.bpm,
        "meter": str(score.drill.meter),
        "stage": performance.stage.name,
        "key": score.key.name,
        "string": score.string,
        "seconds": _s(performance.seconds),
        "tonic_hz": _hz(performance.tonic_hz),
        "clicks": [
            {
                "at": _s(clock.seconds(click.at)),
                "accent": click.accent,
                "count_in": click.count_in,
                "sweep": click.sweep,
            }
            for click in performance.clicks
        ],
        "drone": drones,
        "notes": [_note(performance, event) for event in performance.events],
        "slides": [_slide(performance, slide) for slide in performance.slides],
    }


def timeline_json(performance: Performance) -> str:
    """The timeline as JSON text, one entry a line, the same for the same performance."""
    data = timeline(performance)
    lines = []
    for name, value in data.items():
        if isinstance(value, list) and value:
            entries = ",\n  ".join(_json(entry) for entry in value)
            lines.append(f'"{name}": [\n  {entries}\n]')
        else:
            lines.append(f'"{name}": {_json(value)}')
    return "{\n" + ",\n".join(lines) + "\n}\n"


def _json(value: object) -> str:
    return json.dumps(value, ensure_ascii=False, separators=(", ", ": "))


def _note(performance: Performance, event: Event) -> dict[str, Any]:
    clock, note = performance.clock, event.note
    data = {
        "from": _s(clock.seconds(event.start)),
        "to": _s(clock.seconds(event.end)),
        "hz": _hz(event.hz),
        "pitch": event.pitch.name,
        "finger": event.finger,
        "string": event.string,
        "position": event.position,
        "bar": 0 if event.count_in else note.bar,
        "pass": 0 if event.count_in else note.pass_number,
        "beat": _beat(performance, event),
        "sounds": event.sounds,
        "role": event.role,
        "onset": event.onset,
        "cents_above_tonic": round(cents(event.hz, performance.tonic_hz), 3),
    }
    if event.heard_from is not None:
        data["heard_from"] = _s(clock.seconds(event.heard_from))
    return data


def _beat(performance: Performance, event: Event) -> float:
    """Beats from the bar line; for a ghost, from the bar line of the note that it prepares."""
    beat = performance.score.drill.meter.beat
    if event.count_in:
        return float(event.start % performance.score.drill.meter.bar / beat)
    bar_start = event.note.start - event.note.beat * beat
    return round(float((event.start - bar_start) / beat), 6)


def _slide(performance: Performance, slide: Slide) -> dict[str, Any]:
    clock, travel = performance.clock, slide.travel
    first, last = clock.block(slide.start), clock.block(slide.end)
    points = [*range(first, last, CURVE_BLOCKS), last] if last > first else []
    mm = travel.travel_mm
    return {
        "from": _s(block_seconds(first)),
        "to": _s(block_seconds(last)),
        "kind": travel.kind.value,
        "finger": travel.finger,
        "string": travel.string,
        "from_hz": _hz(slide.course.from_hz),
        "to_hz": _hz(slide.course.to_hz),
        "travel_mm": None if mm is None else round(mm, 1),
        "sounds": slide.sounds,
        "curve": [
            [_s(block_seconds(block)), _hz(slide.course.hz_at((block - first) / (last - first)))]
            for block in points
        ],
    }


def _s(seconds: float) -> float:
    return round(seconds, 6)


def _hz(hz: float) -> float:
    return round(hz, 4)
