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
OWN_WORDS = "a stage of your teacher's own"


@dataclass(frozen=True)
class Stage:
    name: str
    guide: tuple[str, ...]  # one level for each pass, taken in turn
    slides: str = "full"
    ghosts: str = "sounded"
    drone: bool = True
    click: bool = True
    words: str = OWN_WORDS  # what it means, for the player

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
        Stage(
            "listen",
            ("full", "full"),
            "full",
            "sounded",
            words="the bar is played, with the travel of each shift left audible; then play along",
        ),
        Stage(
            "answer",
            ("full", "silent"),
            "lighter",
            "light",
            words="the bar is played once, then it is silent and you answer",
        ),
        Stage(
            "check",
            ("landings",),
            "none",
            "silent",
            words="you play; each note that a shift lands on sounds halfway through, so that you "
            "judge first and then hear",
        ),
        Stage(
            "alone",
            ("silent",),
            "none",
            "silent",
            words="only drone and click; the bar is yours",
        ),
    )
}


def stage_words(name: str) -> str:
    """What a stage means, where only its name is known."""
    return STAGES[name].words if name in STAGES else OWN_WORDS
