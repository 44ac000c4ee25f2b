"""What ships with playalong beside its code: the sound bank and the demo drills.

In an installed package they lie in `playalong/data`, in a checkout beside the package.
"""

from __future__ import annotations

from pathlib import Path

from playalong.errors import PlayalongError

_PACKAGE = Path(__file__).resolve().parent
_BANK = "playalong.sf2"
BANK_PLACES = (_PACKAGE / "data" / _BANK, _PACKAGE.parent / "soundfonts" / _BANK)
DEMO_PLACES = (_PACKAGE / "data" / "demo", _PACKAGE.parent / "demo")
DEMO_DRILL = "01-same-finger.toml"


def own_bank() -> Path:
    """The sound bank; PlayalongError where it is missing."""
    return _first(
        BANK_PLACES,
        "The sound bank that ships with playalong is missing; install playalong again, "
        "or make the bank with `python soundfonts/make_bank.py`.",
    )


def is_own_bank(path: Path) -> bool:
    """Whether this is the bank that ships, where it ships."""
    return path.absolute() in BANK_PLACES


def demo_folder() -> Path:
    """The folder of demo drills; PlayalongError where it is missing."""
    return _first(DEMO_PLACES, "the demo drills are missing; install playalong again")


def _first(places: tuple[Path, ...], missing: str) -> Path:
    for place in places:
        if place.exists():
            return place
    raise PlayalongError(missing)
