"""What is wrong with a drill file, and where."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from playalong.errors import PlayalongError


class DrillError(PlayalongError):
    """A drill that cannot be used: file, line, and what is wrong with which words."""

    def __init__(self, file: Path | str, line: int | None, message: str) -> None:
        self.file, self.line, self.message = str(file), line, message
        where = self.file if line is None else f"{self.file}, line {line}"
        super().__init__(f"{where}: {message}")


@dataclass
class NotationError(Exception):
    """A token that is not bar notation; `offset` counts characters from the bar text's start."""

    message: str
    offset: int

    def __str__(self) -> str:
        return self.message
