"""Small scores of the tests' own making, as MusicXML."""

from __future__ import annotations

from pathlib import Path

from playalong.passage.line import TOP, line_of
from playalong.passage.reading import all_parts

HEAD = '<?xml version="1.0" encoding="UTF-8"?>\n'


def note(name: str, length: int = 4, inside: str = "", notations: str = "") -> str:
    """A note like `F#4` of so many sixteenths; `r` is a rest."""
    if name == "r":
        what = "<rest/>"
    else:
        alter = {"#": 1, "b": -1}.get(name[1:-1], 0)
        what = f"<step>{name[0]}</step><alter>{alter}</alter><octave>{name[-1]}</octave>"
        what = f"<pitch>{what}</pitch>"
    marks = f"<notations>{notations}</notations>" if notations else ""
    return f"<note>{what}<duration>{length}</duration>{inside}{marks}</note>"


def fingered(name: str, finger: int, length: int = 4) -> str:
    technical = f"<technical><fingering>{finger}</fingering></technical>"
    return note(name, length, notations=technical)


def slurred(name: str, kind: str, length: int = 4) -> str:
    return note(name, length, notations=f'<slur type="{kind}" number="1"/>')


def line(names: str, length: int = 4) -> str:
    return "".join(note(name, length) for name in names.split())


def attributes(fifths: int = 0, mode: str = "major", meter: str = "4/4") -> str:
    count, unit = meter.split("/")
    return (
        f"<attributes><divisions>4</divisions><key><fifths>{fifths}</fifths><mode>{mode}</mode>"
        f"</key><time><beats>{count}</beats><beat-type>{unit}</beat-type></time></attributes>"
    )


def bar(content: str, number: object = 1, more: str = "") -> str:
    return f'<measure number="{number}"{more}>{content}</measure>'


def score(*bars: str, part: str = "Violin", title: str = "A Test") -> str:
    """One part; the first bar has its attributes with it."""
    return (
        f"{HEAD}<score-partwise><work><work-title>{title}</work-title></work>"
        f'<part-list><score-part id="P1"><part-name>{part}</part-name></score-part></part-list>'
        f'<part id="P1">{"".join(bars)}</part></score-partwise>'
    )


def numbered(*contents: str, first: str = "") -> list[str]:
    """Bars from 1, the first with attributes."""
    return [
        bar((first or attributes()) * (number == 1) + content, number)
        for number, content in enumerate(contents, 1)
    ]


def written(folder: Path, text: str, name: str = "score.musicxml") -> Path:
    path = folder / name
    path.write_text(text, encoding="utf-8")
    return path


def read_through(data: bytes) -> None:
    """Every part, and every bar of it as a passage asks for it. PassageError where one cannot."""
    for part in all_parts(data):
        line_of(part.bars, TOP)
