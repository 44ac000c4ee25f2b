"""What a person asks for: which bars of a score, and how they are to be fingered."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from playalong.music.key import Key


class OpenStrings(StrEnum):
    AUTO = "auto"
    AVOID = "avoid"
    ALWAYS = "always"


@dataclass(frozen=True)
class Wishes:
    """What the player asks of the fingering."""

    highest: int = 7  # positions
    lowest: int = 0
    prefer: tuple[int, ...] = ()  # positions
    stay: str | None = None  # on a string, where it has the note
    open_strings: OpenStrings = OpenStrings.AUTO
    own_fingers: bool = False  # the printed ones are left aside


@dataclass(frozen=True)
class Asked:
    """What a person asks of a score; None where the score says it."""

    part: str | None = None  # its name or number
    bars: str | None = None  # printed numbers: `12-15`
    voice: str | None = None
    instrument: str | None = None
    key: Key | None = None
    tempo: tuple[int, int] | None = None  # beats a minute
    shifts: int = 3  # for how many of them drills are written
    wishes: Wishes = Wishes()
