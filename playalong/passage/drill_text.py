"""A drill file as this room writes it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from textwrap import wrap
from typing import NamedTuple

from playalong.drill.checks import LONGEST_TEXT
from playalong.drill.reference import toml
from playalong.errors import short, shown
from playalong.music.meter import Meter

COMMENT_WIDTH = 96


class WrittenBar(NamedTuple):
    """One bar in bar notation, and its meter."""

    meter: Meter
    text: str


@dataclass(frozen=True)
class DrillText:
    """Its settings; `comments` stand above them."""

    title: str
    instrument: str
    key: str
    note: str
    bars: list[WrittenBar]
    tempo: tuple[int, int]
    upbeat: Fraction = Fraction(0)  # plain notes
    first_bar: int = 1
    comments: tuple[str, ...] = ()

    @property
    def text(self) -> str:
        upbeat = (f"upbeat     = {toml(str(self.upbeat))}",) if self.upbeat else ()
        first_bar = (f"first_bar  = {self.first_bar}",) if self.first_bar > 1 else ()
        return "\n".join(
            (
                *(line for each in self.comments for line in _comment(each)),
                *([""] if self.comments else []),
                f"title      = {toml(short(shown(self.title), LONGEST_TEXT))}",
                f"instrument = {toml(self.instrument)}",
                f"keys       = [{toml(self.key)}]",
                f"meter      = {toml(str(self.bars[0].meter))}",
                f"note       = {toml(self.note)}",
                *upbeat,
                *first_bar,
                'bar        = """',
                " |\n".join(self._bar_texts()),
                '"""',
                "",
                "[tempo]",
                f"start = {self.tempo[0]}",
                f"goal  = {self.tempo[1]}",
                "",
            )
        )

    def _bar_texts(self) -> Iterator[str]:
        """The bars, and the meter where it changes."""
        meter = self.bars[0].meter
        for bar in self.bars:
            yield bar.text if bar.meter == meter else f"{bar.meter}: {bar.text}"
            meter = bar.meter


def _comment(text: str) -> list[str]:
    """Lines that no text from a score can break out of; what goes on is set in."""
    inset = " " * (len(text) - len(text.lstrip()))
    return wrap(
        shown(text.strip()),
        COMMENT_WIDTH,
        initial_indent=f"# {inset}",
        subsequent_indent=f"#   {inset}",
        break_on_hyphens=False,
    )
