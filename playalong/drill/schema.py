"""Every setting of a drill file: its name, what it may hold, a line of help, and its default.

The loader and its messages read these rows; the list of settings, the JSON Schema and the comments
of the starter drill are the same rows told.
"""

from __future__ import annotations

from collections.abc import Iterable

from playalong.drill.checks import FLAG, TEXT, Setting, choice, distinct, list_of, number, whole
from playalong.drill.kinds import (
    BAR,
    CLIMB,
    DRONE,
    INSTRUMENT,
    INSTRUMENT_SETTINGS,
    KEY,
    LEAD,
    LENGTH,
    METER,
    NOTE,
    SHARE,
    STEP,
)
from playalong.drill.model import BOWS, CLICKS, DRONES, FIFTHS, TEMPO_RANGE_BPM
from playalong.drill.stage import GHOST_LEVELS, GUIDE_LEVELS, SLIDE_LEVELS, STAGES
from playalong.music.meter import NOTE_LENGTHS
from playalong.music.temperament import A4_RANGE_HZ, TEMPERAMENTS


def _listed(words: Iterable[str]) -> str:
    return ", ".join(words)


TEMPO = whole(*TEMPO_RANGE_BPM, " beats a minute")
SETTINGS = {
    "title": Setting(TEXT, "what the drill is called"),
    "author": Setting(TEXT, "who wrote it, as the sheet's files name their author"),
    "instrument": Setting(INSTRUMENT, INSTRUMENT_SETTINGS["name"].help),
    "bar": Setting(BAR, "the bar in bar notation; or several, with | between"),
    "strings": Setting(distinct(TEXT), "the drill once on each of these", ["D"]),
    "keys": Setting(
        distinct(KEY), "the drill once in each; a new key makes the same bar new", ["C major"]
    ),
    "meter": Setting(METER, "beats in a bar, like 3/4, 5/4 or 6/8", "4/4"),
    "note": Setting(NOTE, f"length of a plain token: {_listed(NOTE_LENGTHS)}", "eighth"),
    "upbeat": Setting(LENGTH, "what comes before the first bar line, in plain notes"),
    "first_bar": Setting(whole(1, 9999), "number of the first whole bar, as a score has it", 1),
    "climb": Setting(
        CLIMB, "how many starting positions, each one higher; or a list, [1, 3, 5]", 1
    ),
    "rhythm": Setting(list_of(LENGTH), "lengths handed out in turn, in plain notes", ["1"]),
    "bow": Setting(choice(BOWS), f"how much one bow takes: {_listed(BOWS)}", "note"),
    "passes": Setting(whole(1, 16), "how often the bar is played at each starting position", 2),
    "gap": Setting(whole(0, 8, " bars"), "bars of click between passes", 0),
    "stages": Setting(distinct(TEXT), "which stages, and in which order", list(STAGES)),
    "tempo.start": Setting(TEMPO, "the first tempo, in beats a minute", 60),
    "tempo.goal": Setting(TEMPO, "the last tempo; the first if left out"),
    "tempo.step": Setting(STEP, 'metronome marks; or like "+4", or "+5%"', "marks"),
    "tuning.a4": Setting(number(*A4_RANGE_HZ, " Hz"), "pitch of A4 in Hz", 440),
    "tuning.temperament": Setting(
        choice(TEMPERAMENTS), f"how intervals are tuned: {_listed(TEMPERAMENTS)}", "equal"
    ),
    "drone.on": Setting(DRONE, f'{_listed(DRONES)}, "open D", or a pitch', "tonic"),
    "drone.octave": Setting(whole(-3, 3), "octaves to move the drone by", 0),
    "drone.fifth": Setting(choice(FIFTHS), "the fifth: tuned as all else, or pure", "tuned"),
    "drone.follow": Setting(FLAG, "move to the new tonic where the key changes", False),
    "click.every": Setting(choice(CLICKS), _listed(CLICKS), "beat"),
    "click.count_in": Setting(whole(1, 4, " bars"), "bars before the first note", 2),
    "slide.lead": Setting(LEAD, 'which leads; or { up = "old finger", down = "new finger" }'),
    "slide.share": Setting(SHARE, "share of the departing note that a slide takes", 0.4),
    "session.play": Setting(number(0.5, 60, " minutes"), "minutes at a stretch, at most", 5),
    "session.rest": Setting(number(0, 60, " minutes"), "minutes of rest between tracks", 1),
    "session.taps": Setting(FLAG, "low taps before a track that tell its stage", True),
    "session.home": Setting(FLAG, "come back to the start tempo at the end", False),
}
STAGE_SETTINGS = {
    "guide": Setting(
        list_of(choice(GUIDE_LEVELS)), f"pass by pass: {_listed(GUIDE_LEVELS)}", ["full"]
    ),
    "slides": Setting(choice(SLIDE_LEVELS), _listed(SLIDE_LEVELS), "full"),
    "ghosts": Setting(choice(GHOST_LEVELS), _listed(GHOST_LEVELS), "sounded"),
    "drone": Setting(FLAG, "whether the drone sounds", True),
    "click": Setting(FLAG, "whether the click sounds after the count-in", True),
}
REQUIRED = ("title", "instrument", "bar")
TABLES = tuple(dict.fromkeys(name.split(".")[0] for name in SETTINGS if "." in name))
