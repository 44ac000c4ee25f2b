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
    from playalong.drill.load import load, parse
    from playalong.drill.variation import Variation
    from playalong.errors import PlayalongError
    from playalong.making.make import make
    from playalong.making.plan import Options
    from playalong.performance.perform import perform
    from playalong.performance.timeline import Timeline
    from playalong.performance.timing import timeline_of
    from playalong.score.writing import write
    from playalong.sound.stems import render

__version__ = "0.1.0"

_HOMES = {  # looked up when they are first asked for, so that a command starts fast
    "load": "drill.load",
    "parse": "drill.load",
    "write": "score.writing",
    "perform": "performance.perform",
    "render": "sound.stems",
    "make": "making.make",
    "Options": "making.plan",
    "PlayalongError": "errors",
    "Timeline": "performance.timeline",
    "Variation": "drill.variation",
    "timeline_of": "performance.timing",
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
    return getattr(import_module(f"playalong.{_HOMES[name]}"), name)
