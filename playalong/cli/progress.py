"""A progress bar with the time left, on the error stream, so that output stays clean."""

from __future__ import annotations

from types import TracebackType
from typing import Self

from rich.console import Console
from rich.progress import BarColumn, TextColumn, TimeRemainingColumn
from rich.progress import Progress as Bar


class Progress:
    """Counts seconds of sound against what the plan will make."""

    def __init__(self) -> None:
        self._bar = Bar(
            TextColumn("{task.description}"),
            BarColumn(),
            TextColumn("{task.percentage:>3.0f}%"),
            TimeRemainingColumn(),
            console=Console(stderr=True),
            transient=True,
        )
        self._task = self._bar.add_task("making tracks", total=None)

    def started(self, tracks: int, seconds: float) -> None:
        self._bar.update(self._task, description=f"making {tracks} tracks", total=seconds)

    def watch(self, seconds: float) -> None:
        self._bar.advance(self._task, seconds)

    def __enter__(self) -> Self:
        self._bar.start()
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self._bar.stop()
