"""Where the demo drills lie: in the package, or beside it in a checkout."""

from __future__ import annotations

from pathlib import Path

from playalong.errors import PlayalongError

DEMO_DRILL = "01-same-finger.toml"
_PACKAGE = Path(__file__).resolve().parent
_PLACES = (_PACKAGE / "data" / "demo", _PACKAGE.parent / "demo")


def demo_folder() -> Path:
    """The folder of demo drills."""
    for place in _PLACES:
        if place.is_dir():
            return place
    raise PlayalongError("the demo drills are missing; install playalong again")
