"""Variation: the one way to change a drill from outside.

The command line, a pupil's row and a day of a plan all say what is different for one player: keys,
strings, stages, tempi, and the positions within reach.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

from playalong.drill.model import Drill, Tempo
from playalong.drill.origin import SettingError
from playalong.drill.schema import SETTINGS
from playalong.drill.validation import check_climbs, check_drone, check_strings, find_stages
from playalong.errors import PlayalongError, short


@dataclass(frozen=True)
class Variation:
    """What takes the place of a drill's own settings; nothing where a field is empty.

    Fields are as a person writes them, and are checked when a drill is varied.
    """

    keys: tuple[str, ...] = ()
    strings: tuple[str, ...] = ()
    stages: tuple[str, ...] = ()
    start: int | None = None  # beats a minute
    goal: int | None = None
    positions: tuple[int, int] | None = None  # lowest and highest; others are left out and told

    @property
    def narrows(self) -> bool:
        """Whether it can leave out a part of what the drill asks for."""
        return bool(self.keys or self.strings or self.stages or self.start or self.goal)

    def of(self, drill: Drill) -> Drill:
        """The drill, varied. SettingError names the setting at fault, as drill files spell it."""
        tempo = drill.tempo
        varied = replace(
            drill,
            keys=_checked("keys", self.keys) or drill.keys,
            strings=_strings(self.strings, drill) or drill.strings,
            stages=find_stages(_checked("stages", self.stages), drill.own_stages) or drill.stages,
            tempo=Tempo(
                _checked("tempo.start", self.start) or tempo.written_start,
                _checked("tempo.goal", self.goal) or tempo.written_goal,
                tempo.step,
            ),
            positions=self.positions or drill.positions,
        )
        check_climbs(varied.tempo)
        check_drone(varied)
        return varied


AS_WRITTEN = Variation()


def parse_positions(text: str) -> tuple[int, int]:
    """Lowest and highest position of a text like ``1-4`` or ``3``, both within."""
    low, dash, high = text.strip().partition("-")
    if not (_is_number(low) and (_is_number(high) or not dash)):
        raise SettingError("positions", f'"{short(text)}" is not a reach like 1-4')
    positions = int(low), int(high or low)
    if positions[0] > positions[1]:
        raise SettingError("positions", f'"{text}" is upside down; did you mean "{high}-{low}"?')
    return positions


def _is_number(text: str) -> bool:
    return text.isascii() and text.isdecimal() and len(text) < 4


def _strings(names: tuple[str, ...], drill: Drill) -> tuple[str, ...]:
    checked: tuple[str, ...] = _checked("strings", names)
    if checked:
        check_strings(checked, drill.instrument, drill.pattern)
    return tuple(name.upper() for name in checked)


def _checked(setting: str, value: Any) -> Any:
    """A value as the drill file's own rules take it; what is not given stays as it is."""
    if value in (None, ()):
        return value
    try:
        return SETTINGS[setting].check(list(value) if isinstance(value, tuple) else value)
    except (ValueError, PlayalongError) as error:
        raise SettingError(setting, str(error), value) from None
