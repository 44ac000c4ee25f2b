"""Words for the player that every product carries: how to practise, and the cautions."""

from __future__ import annotations

# General information in plain words; 85 dBA for eight hours, halved with every 3 dB, is the
# recommended exposure limit of NIOSH.
CAUTIONS = (
    "This is general information, not medical advice. A doctor's, physiotherapist's or teacher's "
    "plan for you goes before anything here.",
    "Warm up first. Begin with a few minutes and rest between tracks, with the instrument down.",
    "Stop on pain, numbness or tingling, and ask a doctor or physiotherapist before you go on.",
    "Start playback at a low volume: no file can know how loud it is at your ear. Common "
    "guidance is 85 dBA for at most eight hours a day, and half as long for every 3 dB more.",
)

# How to practise with any set of tracks, in the order in which it is needed.
PRACTICE = (
    "Begin with the first track. Listen to it once with the instrument down, then play along.",
    "The click leads in. Where there is a drone, let it tell you where home is.",
    "In a shift, follow the slide with your ear into its target.",
    "Go on to the next stage, and from the last one to the next tempo, when it is easy, not "
    "before. Nothing here needs to be done in one day.",
)
