"""Stages: how much help a track gives.

| stage  | guide, pass by pass | slides  | ghost notes |
|--------|---------------------|---------|-------------|
| listen | full, full          | full    | sounded     |
| answer | full, silent        | lighter | light       |
| check  | landings            | none    | silent      |
| alone  | silent              | none    | silent      |

`landings`: silent, but each note that a shift lands on enters at half its length, so that the
ear judges first and then hears.
"""

from __future__ import annotations

from dataclasses import dataclass

FULLNESS = {"full": 1.0, "soft": 0.5, "landings": 0.25, "silent": 0.0}
GUIDE_LEVELS = tuple(FULLNESS)
SLIDE_LEVELS = ("full", "lighter", "none")
GHOST_LEVELS = ("sounded", "light", "silent")


@dataclass(frozen=True)
class Stage:
    name: str
    guide: tuple[str, ...]  # one level for each pass, taken in turn
    slides: str = "full"
    ghosts: str = "sounded"
    drone: bool = True
    click: bool = True

    def passes(self, written: int) -> int:
        """How often a place is played: never fewer passes than the guide has different levels."""
        return max(written, len(self.guide)) if len(set(self.guide)) > 1 else written

    def guide_level(self, pass_number: int) -> str:
        """Level of a pass, counted from 1."""
        return self.guide[(pass_number - 1) % len(self.guide)]

    @property
    def fullness(self) -> float:
        """How much of the guide sounds, 0 to 1, for telling the fullest stage."""
        return sum(FULLNESS[level] for level in self.guide) / len(self.guide)


STAGES = {
    stage.name: stage
    for stage in (
        Stage("listen", ("full", "full"), "full", "sounded"),
        Stage("answer", ("full", "silent"), "lighter", "light"),
        Stage("check", ("landings",), "none", "silent"),
        Stage("alone", ("silent",), "none", "silent"),
    )
}
