"""A drill from its bar, played: the least that a test of the middle of the chain needs."""

from __future__ import annotations

import io
from pathlib import Path

from playalong.drill.load import parse_drill
from playalong.drill.model import Drill
from playalong.drill.stage import STAGES, Stage
from playalong.performance.perform import perform
from playalong.performance.performance import Event, Performance
from playalong.score.score import Score
from playalong.score.writing import build_score
from playalong.sound.midi import midi_file

BANK = Path(__file__).parents[1] / "soundfonts" / "playalong.sf2"


def drill_of(bar: str, more: str = "", *, instrument: str = "violin", title: str = "T") -> Drill:
    """A drill with further settings as TOML in `more`; on the D string where none is named."""
    return parse_drill(f'title = "{title}"\ninstrument = "{instrument}"\nbar = "{bar}"\n{more}')


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
    string = drill.strings[0] if drill.strings else None
    passes = chosen.passes(drill.passes)
    return perform(build_score(drill, drill.keys[0], string, passes=passes), bpm, chosen)


def play_score(score: Score, bpm: int, stage: Stage) -> Performance:
    """A written score again, with as many passes as the stage takes."""
    passes = stage.passes(score.drill.passes)
    again = build_score(score.drill, score.key, score.string, passes=passes)
    return perform(again, bpm, stage)


def written(performance: Performance) -> list[Event]:
    """The notes of the music, without ghosts and without the one given in the count-in."""
    return [e for e in performance.events if e.role == "note" and not e.count_in]


def ghosts(performance: Performance) -> list[Event]:
    return [event for event in performance.events if event.role == "ghost"]


def midi_bytes(performance: Performance) -> bytes:
    """The Standard MIDI File as it is exported."""
    buffer = io.BytesIO()
    midi_file(performance).save(file=buffer)
    return buffer.getvalue()
