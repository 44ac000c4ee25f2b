"""Where something was written, and what is wrong with it there."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from playalong.errors import PlayalongError


class DrillError(PlayalongError):
    """A drill that cannot be used: file, line, and what is wrong with which words."""

    def __init__(
        self, file: Path | str, line: int | None, message: str, column: int | None = None
    ) -> None:
        self.file, self.line, self.column, self.message = str(file), line, column, message
        where = self.file if line is None else f"{self.file}, line {line}"
        super().__init__(f"{where}: {message}")


class SettingError(PlayalongError):
    """A setting that does not agree with another; `value` is the entry of a list at fault."""

    def __init__(self, setting: str, message: str, value: object = None) -> None:
        self.setting, self.message, self.value = setting, message, value
        super().__init__(f"{setting}: {message}")


@dataclass(frozen=True)
class Origin:
    """The words that a note or rest was written with, and where; lines and columns from 1."""

    text: str = ""
    file: str = ""
    line: int | None = None
    column: int | None = None

    def error(self, message: str) -> DrillError:
        """An error that names this place."""
        return DrillError(self.file, self.line, message, self.column)


Locate = Callable[[str, int], Origin]  # a word and its offset in a text -> where it stands


def in_text(word: str, offset: int) -> Origin:
    """Where a word stands in a text of one line that came from no file."""
    return Origin(word, "bar", 1, offset + 1)
