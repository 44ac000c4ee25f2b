"""Stages: how much help a track gives.

| stage  | guide, pass by pass | slides  | ghost notes |
|--------|---------------------|---------|-------------|
| listen | full, full          | full    | sounded     |
| answer | full, silent        | lighter | light       |
| check  | landings            | none    | silent      |
| alone  | silent              | none    | silent      |

`landings`: silent, but each note that a shift lands on enters at half its length, so that the
ear judges first and then hears; in a drill without shifts, the first note of every bar.
"""

from __future__ import annotations

from dataclasses import dataclass

from playalong.guidance import EITHER, Manner

FULLNESS = {"full": 1.0, "soft": 0.5, "landings": 0.25, "silent": 0.0}
GUIDE_LEVELS = tuple(FULLNESS)
SLIDE_LEVELS = ("full", "lighter", "none")
GHOST_LEVELS = ("sounded", "light", "silent")
OWN_WORDS = "a stage of your teacher's own"
# What a stage gives to hear: in a drill with it, in one without, and where that is not known.
TRAVEL_WORDS = {
    True: ", with its slides left audible",
    False: "",
    None: ", with any slides left audible",
}
LATE_WORDS = {
    True: "each note that a shift lands on sounds",
    False: "the first note of every bar sounds",
    None: "each note that a shift lands on, or without shifts the first of every bar, sounds",
}


@dataclass(frozen=True)
class Stage:
    name: str
    guide: tuple[str, ...]  # one level for each pass, taken in turn
    slides: str = "full"
    ghosts: str = "sounded"
    drone: bool = True
    click: bool = True
    words: str = OWN_WORDS  # what it means, for the player; `told` fills in what is heard

    def passes(self, written: int) -> int:
        """Of each starting position: never fewer than the guide has different levels."""
        return max(written, len(self.guide)) if len(set(self.guide)) > 1 else written

    def guide_level(self, pass_number: int) -> str:
        """Level of a pass, counted from 1."""
        return self.guide[(pass_number - 1) % len(self.guide)]

    def told(
        self,
        *,
        slides: bool | None = None,
        landings: bool | None = None,
        manner: Manner = EITHER,
    ) -> str:
        """What it means where slides are heard and shifts land; None where that is not known."""
        words = self.words.replace("{travel}", TRAVEL_WORDS[slides])
        return manner.told(words.replace("{late}", LATE_WORDS[landings]))

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
            words="the bar is played{travel}; then {play} along",
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
            words="you {play}; {late} halfway through, so that you judge first and then hear",
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
    return STAGES[name].told() if name in STAGES else OWN_WORDS
