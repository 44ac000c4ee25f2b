"""Words for the player: what the files are, how to practise with them, and the cautions."""

from __future__ import annotations

from playalong.drill.model import Drill

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

STAGE_WORDS = {
    "listen": "the bar is played, with the travel of each shift left audible; then play along",
    "answer": "the bar is played once, then it is silent and you answer",
    "check": "you play; each note that a shift lands on sounds halfway through, so that you "
    "judge first and then hear",
    "alone": "only drone and click; the bar is yours",
}


def read_me_first(drill: Drill) -> str:
    """The text that lies beside the tracks."""
    stages = "\n".join(f"  {stage.name:<8} {_stage_words(stage.name)}" for stage in drill.stages)
    cautions = "\n".join(f"  - {_wrapped(caution)}" for caution in CAUTIONS)
    return f"""{drill.title}

What is here
  One folder for each key, and in it one for each string. Tracks are numbered in the order of
  practice: 01-060-listen is the first, at 60 beats a minute. "session" plays one tempo's
  tracks in a row with rests between them, so that your hands stay on the instrument. The
  .mid files hold the same music for any synthesizer or notation program.

The stages
{stages}

How to practise
  Two bars lead in: the click alone, then the drone and your first note. Let the drone tell
  you where home is. In a shift, follow the slide with your ear into its target; a light note
  before the target shows where the old finger arrives. Go on to the next tempo when a stage
  is easy, not before. Nothing here needs to be done in one day.

Please read
{cautions}
"""


def _stage_words(name: str) -> str:
    return STAGE_WORDS.get(name, "a stage of your teacher's own").replace("\n", " ")


def _wrapped(text: str) -> str:
    import textwrap

    return textwrap.fill(text, 88, subsequent_indent="    ")
