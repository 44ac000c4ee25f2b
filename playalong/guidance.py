"""Words for the player that every product carries: how to practise, and the cautions.

They are spoken to one who plays, one who sings, or, where that is not known, to either.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Manner:
    """The words that differ between one who plays and one who sings."""

    play: str
    playing: str
    at_rest: str
    signs: str  # of too much
    helper: str  # whom to ask
    harm: str  # after which one returns
    own_sound: str  # which is heard beside the playback

    def told(self, words: str) -> str:
        """Words with this manner's own in the place of `{play}` and its kin."""
        for name in ("play", "playing", "at_rest", "signs", "helper", "harm", "own_sound"):
            words = words.replace("{" + name + "}", getattr(self, name))
        return words


PLAYER = Manner(
    play="play",
    playing="playing",
    at_rest="with the instrument down",
    signs="pain, numbness or tingling",
    helper="a doctor or physiotherapist",
    harm="an injury",
    own_sound="your instrument's own sound",
)
SINGER = Manner(
    play="sing",
    playing="singing",
    at_rest="with your voice at rest",
    signs="pain or hoarseness",
    helper="a doctor or voice therapist",
    harm="an illness or injury of the voice",
    own_sound="your own voice",
)
EITHER = Manner(
    play="play or sing",
    playing="playing or singing",
    at_rest="with instrument or voice at rest",
    signs="pain, numbness or tingling, or on hoarseness",
    helper="a doctor or therapist",
    harm="an illness or injury",
    own_sound="your own sound",
)

_STOP = "Stop on {signs}, and ask {helper} before you go on."

# General information in plain words. Levels: ITU-T H.870 with WHO (safe listening), which allows
# 80 dBA for 40 hours a week, children 75 dBA, and half the time for every 3 dB more.
_CAUTIONS = (
    "This is general information, not medical advice. A doctor's, therapist's or teacher's plan "
    "for you goes before anything here.",
    "Warm up first. Begin with a few minutes, and rest between tracks {at_rest}.",
    _STOP,
    "Returning after {harm}: a few minutes, more rest than {playing}, and only on the word of "
    "whoever treats you.",
    "Start playback at a low volume, with headphones above all: no file can know how loud it is "
    "at your ear. Safe listening (ITU-T H.870) is 80 dBA for at most 40 hours a week, 75 dBA for "
    "children, and half as long for every 3 dB more; {own_sound} counts too.",
)
# How to practise with any set of tracks, in the order in which it is needed.
_PRACTICE = (
    "Begin with the first track. Listen to it once {at_rest}, then {play} along.",
    "The click leads in. Where there is a drone, let it tell you where home is.",
    "Where a slide is heard, follow it with your ear into its target.",
    "Go on to the next stage, and from the last one to the next tempo, when it is easy, not "
    "before. Nothing here needs to be done in one day.",
)


def cautions(manner: Manner) -> tuple[str, ...]:
    return tuple(manner.told(words) for words in _CAUTIONS)


def when_to_stop(manner: Manner) -> str:
    return manner.told(_STOP)


def practice(manner: Manner) -> tuple[str, ...]:
    return tuple(manner.told(words) for words in _PRACTICE)
