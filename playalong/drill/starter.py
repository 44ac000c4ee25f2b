"""The starter drill that `playalong new` writes: commented, and working as it is.

A test holds the comments beside its settings to the help of their rows.
"""

from __future__ import annotations

from typing import Any

from playalong.drill.kinds import INSTRUMENT
from playalong.drill.reference import toml
from playalong.instrument.instruments import Instrument
from playalong.music.pitch import LETTERS, Pitch

DEFAULT_INSTRUMENT = "viola"
ROOM_SEMITONES = 7  # left below the first note by a starter in pitches
TUNE = "EFGEGAFE"

_FINGERS = """\
# The bar. p1: and its kin say where the hand is; 0 to 4 are fingers; the key decides
# where the half and whole steps fall. ( ) is one bow, r a rest, ~ a slide to be heard,
# - a shift without a sound, *2 twice as long. Eight eighths fill a bar of 4/4.
bar        = "{fingers}"
"""
_BAR = "p1: 1 2 3 1 p3: 1 2 p1: 2 1"
_BARS = {  # where the hand is another one
    "cello": "p1: 1 2 4 1 p2: 1 4 p1: 2 1",
    "bass": "p1: 1 2 1 2 p3: 1 4 p1: 2 1",
}
_PITCHES = """\
# The bar, in written pitches; the key decides which of them are sharp or flat. ( ) is one
# bow or breath, r a rest, ~ a slide to be heard, *2 twice as long. Eight eighths fill a bar
# of 4/4.
bar        = "{pitches}"
"""
_STARTER = """\
# A drill for playalong. Lines that begin with # are notes to you; take the # away to use one.

title      = "{title}"
# author   = "Your name"      # who wrote it, as the sheet's files name their author
{instrument:<29} # violin, viola, cello, bass; voices and winds in written pitches
{strings}keys       = ["F major"]      # the drill once in each; a new key makes the same bar new

{bar}
climb      = 3                # how many starting positions, each one higher; or a list, [1, 3, 5]
# meter    = "4/4"            # beats in a bar, like 3/4, 5/4 or 6/8
# note     = "eighth"         # length of a plain token: whole, half, quarter, eighth, sixteenth
# upbeat   = "1"              # what comes before the first bar line, in plain notes
# first_bar = 1               # number of the first whole bar, as a score has it
# rhythm   = ["3/2", "1/2"]   # lengths handed out in turn, in plain notes
# bow      = "half bar"       # how much one bow takes: note, beat, half bar, bar
# passes   = 2                # how often the bar is played at each starting position
# gap      = 1                # bars of click between passes
# stages   = ["listen", "answer", "check", "alone"]  # which stages, and in which order

[tempo]
start = 60                    # the first tempo, in beats a minute
goal  = 60                    # the last tempo; the first if left out
# step = "marks"              # metronome marks; or like "+4", or "+5%"

# [tuning]
# a4          = 440           # pitch of A4 in Hz
# temperament = "equal"       # how intervals are tuned: equal, pythagorean, just

# [drone]
# on     = "tonic"            # tonic, tonic and fifth, off, "open D", or a pitch
# octave = 0                  # octaves to move the drone by
# fifth  = "tuned"            # the fifth: tuned as all else, or pure
# follow = false              # move to the new tonic where the key changes

# [click]
# every    = "beat"           # half beat, beat, half bar, bar, off
# count_in = 2                # bars before the first note

# [slide]
# lead  = "old finger"        # which leads; or {{ up = "old finger", down = "new finger" }}
# share = 0.4                 # share of the departing note that a slide takes

# [session]
# play = 5                    # minutes at a stretch, at most
# rest = 1                    # minutes of rest between tracks
# taps = true                 # low taps before a track that tell its stage
# home = false                # come back to the start tempo at the end

# A stage of your own; name it in stages = [...] above.
# [stage.echo]
# guide  = ["soft", "silent"] # pass by pass: full, soft, landings, silent
# slides = "lighter"          # full, lighter, none
# ghosts = "light"            # sounded, light, silent
# drone  = true               # whether the drone sounds
# click  = true               # whether the click sounds after the count-in
"""


def starter(instrument: Any = DEFAULT_INSTRUMENT) -> str:
    """A starter for an instrument, which is named as a drill file names it.

    It is written in fingers where the hand is modelled, else in pitches: the same tune.
    """
    found: Instrument = INSTRUMENT(instrument)
    strings = 'strings    = ["D"]            # the drill once on each of these\n'
    return _STARTER.format(
        title="Up and back on one string" if found.hand else "A third, step by step",
        instrument=f"instrument = {toml(instrument)}",
        strings=strings if found.strings else "",
        bar=_FINGERS.format(fingers=_BARS.get(found.name, _BAR))
        if found.hand
        else _PITCHES.format(pitches=_pitches(found)),
    )


def _pitches(instrument: Instrument) -> str:
    """The tune from the lowest E that leaves room below it, as it is written."""
    first = Pitch(LETTERS.index("E"))
    while first.key_number < instrument.lowest.key_number + ROOM_SEMITONES:
        first = first.octaves_up(1)
    octave = instrument.as_written(first).octave
    return " ".join(f"{letter}{octave}" for letter in TUNE)
