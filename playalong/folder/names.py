"""File and folder names from titles, keys and strings: safe on every system, and distinct."""

from __future__ import annotations

import re
import unicodedata

from playalong.music.key import Key

PAGE_FILE = "index.html"
LONGEST = 60  # characters; with folders and endings this stays within every system's limit
_RESERVED = {"con", "prn", "aux", "nul"} | {f"{n}{i}" for n in ("com", "lpt") for i in range(10)}


def safe_name(title: str, otherwise: str = "drill") -> str:
    """Letters, digits and single hyphens, in lower case; accents fall away where they can."""
    plain = unicodedata.normalize("NFKD", title.replace("♯", " sharp").replace("♭", " flat"))
    kept = "".join(c if c.isalnum() else " " for c in plain if not unicodedata.combining(c))
    name = "-".join(unicodedata.normalize("NFC", kept).casefold().split())[:LONGEST]
    while len(name.encode()) > 3 * LONGEST:
        name = name[:-1]
    name = name.rstrip("-")
    if not name:
        return otherwise
    return f"{name}-{otherwise}" if name in _RESERVED else name


def key_folder(key: Key) -> str:
    """`B-flat-major`, `F-sharp-harmonic-minor`."""
    letter, sign = re.match(r"([A-G])(#|b)?", key.name).groups()  # type: ignore[union-attr]
    accidental = {"#": "-sharp", "b": "-flat", None: ""}[sign]
    return f"{letter}{accidental}-{key.mode.replace(' ', '-')}"


def string_folder(string: str | None) -> str:
    """The string's letter, or `all` for drills in pitches or over several strings."""
    return string or "all"


def track_stem(number: int, total: int, bpm: int, stage: str) -> str:
    """`01-060-listen`: the track's number, its tempo, its stage."""
    digits = max(2, len(str(total)))
    return f"{number:0{digits}}-{bpm:03}-{safe_name(stage, 'stage')}"
