"""Drill files that nobody would write, and all that is made of one before anything sounds."""

from __future__ import annotations

import io
from functools import cache
from pathlib import Path
from random import Random

from hostile.trial import assert_told
from hostile.writing import lines_moved, slipped

from playalong.drill.load import parse
from playalong.drill.origin import DrillError
from playalong.drill.schema import SETTINGS, STAGE_SETTINGS
from playalong.drill.starter import starter
from playalong.engraving.musicxml import musicxml
from playalong.engraving.written_score import write_down
from playalong.instrument.catalogue import INSTRUMENTS
from playalong.making.plan import Options, plan_build
from playalong.making.read_me import read_me_first
from playalong.music.key import ALL_KEYS
from playalong.performance.perform import perform
from playalong.performance.timeline import Timeline
from playalong.performance.timing import timeline_of
from playalong.score.explanation import explain
from playalong.score.explanation_text import brief_text, explanation_text
from playalong.shipped import demo_folder
from playalong.sound.midi import midi_file

LIMIT_SECONDS = 2.0
TOKENS = [
    "1",
    "2",
    "3",
    "4",
    "0",
    "r",
    "1x",
    "3x",
    "4x",
    "2#",
    "3b",
    "4n",
    "1*2",
    "2*1/2",
    "3*3/2",
    "4*2/3",
    "r*4",
    "~3",
    "-2",
    "-1",
    "~1*2",
    "p1:",
    "p2:",
    "p3:",
    "p5:",
    "p0:",
    "p1!:",
    "p3!:",
    "G:",
    "D:",
    "A:",
    "E:",
    "C:",
    "(",
    ")",
    "|",
    "C5",
    "F#4",
    "Bb3",
    "E4=1",
    "A4=3",
    "C2",
    "G7",
    "1.",
    "2..",
    "0x",
    "p9:",
    "p15:",
    "p99:",
    "Z:",
    "5",
    "r*",
    "~0",
    "1*0",
    "1*1/0",
    "2*999/7",
    "E4=9",
    "~",
    "-",
    "*",
    "p3:!",
    "3-4",
    "1+2",
    "II",
    "R",
    "c5",
    "F♯4",
    "♭",
]
VALUES = [
    '"marks"',
    '"+4"',
    '"+5%"',
    '"+2.5%"',
    '"+0%"',
    '"4/4"',
    '"3/4"',
    '"6/8"',
    '"7/8"',
    '"12/8"',
    '"1/64"',
    '"4/3"',
    '"off"',
    '"quarter"',
    '"eighth"',
    '"whole"',
    '"beat"',
    '"half bar"',
    '"tonic"',
    '"open D"',
    '"A4"',
    '"equal"',
    '"just"',
    '"listen"',
    '"alone"',
    '"full"',
    '"lighter"',
    '"silent"',
    '"old finger"',
    "0",
    "1",
    "2",
    "3",
    "8",
    "16",
    "17",
    "40",
    "60",
    "120",
    "320",
    "321",
    "-1",
    "0.4",
    "415",
    "440",
    "true",
    "false",
    "[]",
    "{}",
    "[1,3,5]",
    "[1]",
    "nan",
    "inf",
    "1e308",
    "1979-05-27",
    "07:32:00",
    '["3/2","1/2"]',
    '["1/3"]',
    '{up="old finger",down="new finger"}',
    '{name="violin",string_length_mm=9}',
]
LONG = "x" * 1600
VALUES += [f'"{LONG}"', f'["{LONG}"]', f"{{{LONG}=1}}", f'{{up="{LONG}"}}', f'{{name="{LONG}"}}']
NAMES = (
    *SETTINGS,
    *(f"stage.x.{each}" for each in STAGE_SETTINGS),
    LONG,
    f"tempo.{LONG}",
    f"stage.{LONG}.guide",
    f"stage.x.{LONG}",
)
WORDS = tuple(f" {word} ".encode() for word in (*TOKENS, *VALUES, *SETTINGS))


@cache
def sound_ones() -> tuple[bytes, ...]:
    """The demo drills, and a starter for every instrument."""
    demos = [path.read_bytes() for path in sorted(demo_folder().glob("*.toml"))]
    return (*demos, *(starter(name).encode() for name in INSTRUMENTS))


def case(chance: Random) -> bytes:
    """One drill file."""
    match chance.randrange(8):
        case 0:
            return chance.randbytes(chance.randrange(300))
        case 1:
            return lines_moved(chance.choice(sound_ones()), chance)
        case 2 | 3 | 4:
            return slipped(
                chance.choice(sound_ones()), chance, WORDS, donor=chance.choice(sound_ones())
            )
        case _:
            return _composed(chance).encode("utf-8", "surrogatepass")


def _composed(chance: Random) -> str:
    """A drill by the grammar: mostly what each setting may hold, now and then something else."""
    instrument = chance.choice(("violin", "viola", *INSTRUMENTS))
    fingered = instrument in ("violin", "viola")
    tokens = TOKENS[: 40 if fingered else len(TOKENS)] if chance.random() < 0.8 else TOKENS
    bar = " ".join(chance.choices(tokens, k=chance.choice((4, 8, 8, 8, 8, 16, 200))))
    if chance.random() < 0.8:  # fills its meter
        plain = (
            ("1", "2", "3", "4", "2#", "1x", "p3: 1", "p2: 4") if fingered else ("C4", "r", "E4")
        )
        bar = " ".join(chance.choices(plain, k=8))
    lines = [f'title = "{chance.choice(("T", "é", "x" * 300, "=?utf-8?q?x?="))}"']
    lines += [f'instrument = "{instrument}"', f'bar = "{bar}"']
    keys = chance.sample(ALL_KEYS, chance.choice((1, 1, 1, 2, 30)))
    lines.append("keys = [" + ", ".join(f'"{key.name}"' for key in keys) + "]")
    if chance.random() < 0.5:
        lines.append(f"climb = {chance.choice((1, 2, 4, 12, 64, '[1, 3, 5]', '[15, 1]'))}")
    if chance.random() < 0.3:
        start, goal = chance.randint(20, 320), chance.randint(20, 320)
        step = chance.choice(("marks", "+1", "+4", "+1%", "+2.5%", "+40%"))
        lines.append(f'tempo = {{start = {start}, goal = {goal}, step = "{step}"}}')
    for _ in range(chance.choice((0, 0, 1, 1, 3))):
        lines.append(f"{chance.choice(NAMES)} = {chance.choice(VALUES)}")
    return "\n".join(lines)


def attempt(raw: bytes, folder: Path) -> str:
    """Read it, and make of its first score all that a build makes before it sounds."""
    try:
        drill = parse(raw)
        plan = plan_build(drill, Options(skip_unplayable=True))
    except DrillError as error:
        assert_told(error, "drill.toml, line " if error.line else "drill.toml: ")
        return "told"
    read_me_first(drill, plan.scores)
    score, rung = plan.scores[0], plan.rungs[-1]
    explain(score)
    brief_text(score)
    explanation_text(score)
    musicxml(write_down(score))
    performance = perform(score, rung.bpm, rung.fullest)
    timeline = timeline_of(performance)
    assert Timeline.from_json(timeline.to_json()) == timeline
    midi_file(performance).save(file=io.BytesIO())
    return "played"
