"""A drill from its bar, played: the least that a test of the middle of the chain needs."""

from __future__ import annotations

import io
from pathlib import Path

from playalong.drill.load import parse
from playalong.drill.model import Drill
from playalong.drill.stage import STAGES, Stage
from playalong.performance.perform import perform
from playalong.performance.performance import GhostNote, Performance, PlayedNote
from playalong.score.model import Score
from playalong.score.writing import write
from playalong.sound.midi import midi_file

BANK = Path(__file__).parents[1] / "soundfonts" / "playalong.sf2"


def drill_of(bar: str, more: str = "", *, instrument: str = "violin", title: str = "T") -> Drill:
    """A drill with further settings as TOML in `more`; on the D string where none is named."""
    return parse(f'title = "{title}"\ninstrument = "{instrument}"\nbar = "{bar}"\n{more}')


def in_quarters(instrument: str, key: str, bar: str, more: str = "") -> Score:
    """The score of a bar that names its strings, each of its tokens a quarter, once."""
    tokens = [word for word in bar.split() if not word.endswith(":")]
    settings = f'keys = ["{key}"]\nnote = "quarter"\nmeter = "{len(tokens)}/4"\npasses = 1\n{more}'
    return write(drill_of(bar, settings, instrument=instrument))


def play(
    bar: str,
    more: str = "",
    *,
    bpm: int = 60,
    stage: str = "listen",
    instrument: str = "violin",
    title: str = "T",
) -> Performance:
    """The drill in its first key and on its first string, at `bpm`, in one stage."""
    return play_drill(drill_of(bar, more, instrument=instrument, title=title), bpm, stage)


def play_drill(drill: Drill, bpm: int = 60, stage: str | Stage = "listen") -> Performance:
    known = STAGES | {each.name: each for each in drill.stages}
    chosen = stage if isinstance(stage, Stage) else known[stage]
    return perform(write(drill), bpm, chosen)


def written(performance: Performance) -> list[PlayedNote]:
    """The notes of the music, without the one given in the count-in."""
    return [note for note in performance.notes if not note.is_given]


def ghosts(performance: Performance) -> list[GhostNote]:
    return [note.ghost for note in performance.notes if note.ghost]


def midi_bytes(performance: Performance) -> bytes:
    """The Standard MIDI File as it is exported."""
    buffer = io.BytesIO()
    midi_file(performance).save(file=buffer)
    return buffer.getvalue()
