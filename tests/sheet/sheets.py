"""Sheets made for tests, and what another program reads in their PDF."""

from __future__ import annotations

import subprocess
from collections.abc import Sequence
from pathlib import Path

from playalong.drill.model import Drill
from playalong.score.model import Score
from playalong.score.writing import write
from playalong.sheet.render import SheetFiles, render_sheet
from playalong.shipped import demo_folder

OLD_FINGER = demo_folder() / "04-old-finger-leads.toml"
NEW_KEYS = demo_folder() / "10-new-key-every-day.toml"


def scores_of(drill: Drill, count: int | None = None) -> list[Score]:
    """The drill's keys and strings, or the first `count` of them, written out."""
    return [write(drill, *pair) for pair in drill.pairs[:count]]


def write_sheet(
    drill: Drill, out: Path, scores: Sequence[Score] | None = None, **choices: object
) -> SheetFiles:
    files, contents = render_sheet(drill, scores or scores_of(drill), **choices)
    out.mkdir(exist_ok=True)
    for name, content in contents.items():
        (out / name).write_bytes(content)
    return files


def told(*command: object) -> str:
    """What a tool of poppler says."""
    done = subprocess.run([str(word) for word in command], capture_output=True, text=True)
    assert done.returncode == 0, done.stderr
    return done.stdout


def text_of(pdf: Path, *, page: int | None = None) -> str:
    """All words in reading order, one blank between them."""
    only = ("-f", page, "-l", page) if page else ()
    return " ".join(told("pdftotext", *only, pdf, "-").split())
