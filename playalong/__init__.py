"""Play-along tracks for shifting drills on bowed strings.

The verbs chain in the order of the work: `load` or `parse` a drill, `write` it out in a key and on
a string, `perform` the score at a tempo and in a stage, `render` the performance as samples; or
`make` everything a drill asks for in a folder. `Variation` changes a drill for one player, and a
`Timeline` tells what sounds when.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from playalong.drill.load import load_drill as load
    from playalong.drill.load import parse_drill as parse
    from playalong.drill.variation import Variation
    from playalong.errors import PlayalongError
    from playalong.making.make import make
    from playalong.making.plan import Options
    from playalong.performance.perform import perform
    from playalong.performance.timeline import Timeline
    from playalong.performance.timing import timeline_of
    from playalong.score.writing import build_score as write
    from playalong.sound.stems import render

__version__ = "0.1.0"

_HOMES = {  # looked up when they are first asked for, so that a command starts fast
    "load": ("playalong.drill.load", "load_drill"),
    "parse": ("playalong.drill.load", "parse_drill"),
    "write": ("playalong.score.writing", "build_score"),
    "perform": ("playalong.performance.perform", "perform"),
    "render": ("playalong.sound.stems", "render"),
    "make": ("playalong.making.make", "make"),
    "Options": ("playalong.making.plan", "Options"),
    "PlayalongError": ("playalong.errors", "PlayalongError"),
    "Timeline": ("playalong.performance.timeline", "Timeline"),
    "Variation": ("playalong.drill.variation", "Variation"),
    "timeline_of": ("playalong.performance.timing", "timeline_of"),
}

__all__ = [
    "Options",
    "PlayalongError",
    "Timeline",
    "Variation",
    "__version__",
    "load",
    "make",
    "parse",
    "perform",
    "render",
    "timeline_of",
    "write",
]


def __getattr__(name: str) -> Any:
    if name not in _HOMES:
        raise AttributeError(f"playalong has no {name!r}")
    module, attribute = _HOMES[name]
    return getattr(import_module(module), attribute)
