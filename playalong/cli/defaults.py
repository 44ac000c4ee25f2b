"""A person's own defaults: below what the command line and the drill file say.

They stand in defaults.toml in the settings folder, and only commands read them.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from enum import StrEnum
from functools import cache
from pathlib import Path
from typing import Any

from playalong.cli.shared import PaperName
from playalong.drill.checks import TEXT, Setting, choice
from playalong.drill.schema import SETTINGS
from playalong.errors import PlayalongError, nearest, short
from playalong.folder.names import DEFAULT_AUDIO, AudioFormat
from playalong.settings import SettingsError, SettingsFile, settings_folder

FILE_NAME = "defaults.toml"
OF_DRILLS = {"instrument": "instrument", "a4": "tuning.a4"}  # as drill files name them


def _one_of(names: Iterable[StrEnum], help: str, default: StrEnum) -> Setting:
    words = [str(name) for name in names]
    check = TEXT.then(str.lower).then(choice(words))
    return Setting(check, f"{help}: {', '.join(words)}", str(default))


ROWS = {
    "paper": _one_of(PaperName, "paper to print on", PaperName.a4),
    "format": _one_of(AudioFormat, "kind of audio file", DEFAULT_AUDIO),
    "instrument": replace(
        SETTINGS["instrument"], help="of new drills, and of drills that name none"
    ),
    "a4": replace(SETTINGS["tuning.a4"], help="pitch of A4 in Hz, of drills that say none"),
}


@dataclass(frozen=True)
class Defaults:
    """Checked when made: SettingsError names file, line, value and the nearest right thing."""

    file: SettingsFile

    def __post_init__(self) -> None:
        for name, value in self.file.values.items():
            place = self.file.place(name)
            if name not in ROWS:
                raise SettingsError(
                    f'{place}: "{short(name)}" is not known here{nearest(name, ROWS)}'
                )
            try:
                ROWS[name].check(value)
            except (ValueError, PlayalongError) as error:
                raise SettingsError(f"{place}: {name}: {error}") from None

    def written(self, name: str) -> Any:
        """A default as a file says it: the person's own, or the one that is built in."""
        return self.file.values.get(name, ROWS[name].default)

    @property
    def paper(self) -> str:
        return str(ROWS["paper"].check(self.written("paper")))

    @property
    def format(self) -> str:
        return str(ROWS["format"].check(self.written("format")))

    @property
    def of_drills(self) -> dict[str, Any]:
        """The person's own settings for drills that leave them out, by dotted name."""
        own = self.file.values
        return {dotted: own[name] for name, dotted in OF_DRILLS.items() if name in own}


def defaults_path() -> Path:
    return settings_folder() / FILE_NAME


@cache
def defaults() -> Defaults:
    """The defaults of the person who runs this command."""
    return Defaults(SettingsFile.read(defaults_path()))
