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
from playalong.music.key import Key
from playalong.music.meter import Meter

COMMENT_WIDTH = 96
FOLLOWING_DRONE = (
    "[drone]",
    "follow = true  # to the new tonic where the key changes; false lets it stay",
    "",
)


class WrittenBar(NamedTuple):
    """One bar in bar notation, with its meter and key."""

    meter: Meter
    key: Key
    text: str
    ends_part: bool = False  # a double bar line follows


@dataclass(frozen=True)
class DrillText:
    """Its settings; `comments` stand above them."""

    title: str
    instrument: str
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
                f"keys       = [{toml(self.bars[0].key.name)}]",
                f"meter      = {toml(str(self.bars[0].meter))}",
                f"note       = {toml(self.note)}",
                *upbeat,
                *first_bar,
                'bar        = """',
                "\n".join(self._bar_texts()),
                '"""',
                "",
                "[tempo]",
                f"start = {self.tempo[0]}",
                f"goal  = {self.tempo[1]}",
                "",
                *(FOLLOWING_DRONE if len({bar.key for bar in self.bars}) > 1 else ()),
            )
        )

    def _bar_texts(self) -> Iterator[str]:
        """The bars with their bar lines, and with key and meter where they change."""
        before, last = self.bars[0], len(self.bars) - 1
        for place, bar in enumerate(self.bars):
            key = f"{bar.key.name}: " if bar.key != before.key else ""
            meter = f"{bar.meter}: " if bar.meter != before.meter else ""
            line = (" ||" if bar.ends_part else " |") if place < last else ""
            yield f"{key}{meter}{bar.text}{line}"
            before = bar


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
