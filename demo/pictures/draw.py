"""Draws the README's picture: the pitch of one pass over time, from the drill's own timeline.

    python demo/pictures/draw.py

Light and dark readers both see it: it has a background of its own.
"""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

from playalong.drill.load import load
from playalong.performance.perform import perform
from playalong.performance.timing import timeline_of
from playalong.score.writing import write

HERE = Path(__file__).parent
DRILL = HERE.parent / "04-old-finger-leads.toml"
PICTURE = HERE / "a-shift-over-time.svg"
WIDTH, HEIGHT, LEFT, TOP, BOTTOM = 900, 360, 70, 30, 50
INK, SOFT, SLIDE, GHOST, PAPER = "#22303c", "#c8d0d6", "#b4552d", "#5b7f5b", "#fbfaf7"


def draw() -> str:
    """The picture as SVG text."""
    drill = load(DRILL)
    score = write(drill, drill.keys[0], "D")
    data = timeline_of(perform(score, 50, drill.stages[0])).data()
    first = [note for note in data["notes"] if note["bar"] in (1, 2) and note["pass"] == 1]
    start, end = first[0]["from"], first[-1]["to"]
    low = min(note["hz"] for note in first)
    high = max(note["hz"] for note in first)

    def x(seconds: float) -> float:
        return LEFT + (seconds - start) / (end - start) * (WIDTH - LEFT - 20)

    def y(hz: float) -> float:
        share = math.log2(hz / low) / math.log2(high / low)
        return HEIGHT - BOTTOM - 30 - share * (HEIGHT - TOP - BOTTOM - 60)

    slides = [s for s in data["slides"] if start < s["to"] <= end and s["sounds"]]
    parts = [*_grid(data, x, start, end), *_names(first, y)]
    parts += [_note(note, slides, x, y) for note in first]
    for slide in slides:
        points = " ".join(f"{x(t):.1f},{y(hz):.1f}" for t, hz in slide["curve"])
        parts.append(_tag("polyline", points=points, fill="none", stroke=SLIDE, stroke_width=4))
    parts.append(_text(LEFT, TOP - 8, "old finger leads: note, slide, ghost note, landing", INK))
    style = "font-family='sans-serif' font-size='14'"
    body = "\n".join(parts)
    back = _tag("rect", width=WIDTH, height=HEIGHT, fill=PAPER)
    view = f"0 0 {WIDTH} {HEIGHT}"
    opening = f"<svg xmlns='http://www.w3.org/2000/svg' viewBox='{view}' {style}>"
    return f"{opening}\n{back}\n{body}\n</svg>\n"


def _grid(data: dict[str, Any], x: Any, start: float, end: float) -> list[str]:
    lines = []
    for click in data["clicks"]:
        if start <= click["at"] < end:
            at = f"{x(click['at']):.1f}"
            weight = 2 if click["accent"] else 1
            lines.append(
                _tag(
                    "line",
                    x1=at,
                    x2=at,
                    y1=TOP,
                    y2=HEIGHT - BOTTOM,
                    stroke=SOFT,
                    stroke_width=weight,
                )
            )
    lines.append(_text(LEFT, HEIGHT - 20, "each upright line is a click of the beat", INK))
    return lines


def _names(notes: list[dict[str, Any]], y: Any) -> list[str]:
    heights = {note["pitch"]: note["hz"] for note in notes}
    return [_text(16, y(hz) + 5, name, INK) for name, hz in heights.items()]


def _note(note: dict[str, Any], slides: list[dict[str, Any]], x: Any, y: Any) -> str:
    leaving = [s["from"] for s in slides if note["from"] < s["from"] < note["to"]]
    ghost = note["role"] == "ghost"
    end = min([note["to"], *leaving]) if not ghost else note["to"]
    level = f"{y(note['hz']):.1f}"
    line = _tag(
        "line",
        x1=f"{x(note['from']):.1f}",
        x2=f"{x(end):.1f}",
        y1=level,
        y2=level,
        stroke=GHOST if ghost else INK,
        stroke_width=4 if ghost else 8,
    )
    words = "ghost note" if ghost else f"finger {note['finger']}"
    return line + _text(x(note["from"]) + 4, y(note["hz"]) - 12, words, GHOST if ghost else INK)


def _tag(name: str, **attributes: object) -> str:
    listed = " ".join(f"{k.replace('_', '-')}='{v}'" for k, v in attributes.items())
    return f"<{name} {listed}/>"


def _text(x: float, y: float, words: str, colour: str) -> str:
    return f"<text x='{x:.1f}' y='{y:.1f}' fill='{colour}'>{words}</text>"


if __name__ == "__main__":
    PICTURE.write_text(draw(), encoding="utf-8")
