"""What an audio file says about itself."""

from __future__ import annotations

import unicodedata
from dataclasses import astuple, dataclass

from playalong.errors import PlayalongError


class TagError(PlayalongError):
    """A text that audio files cannot carry."""


@dataclass(frozen=True)
class Tags:
    """Texts may hold any letter (é, ♭); empty or None means that the file does not say."""

    title: str
    album: str = ""
    key: str = ""  # "Bb major", "F# minor"
    string: str = ""
    tempo_bpm: float | None = None
    stage: str = ""
    track_number: int | None = None

    def __post_init__(self) -> None:
        for text in astuple(self):
            if isinstance(text, str) and any(unicodedata.category(c) == "Cc" for c in text):
                raise TagError(f"{text!r} has a control character in it; write it on one line")

    @property
    def tempo(self) -> str:
        return "" if self.tempo_bpm is None else f"{self.tempo_bpm:g}"

    @property
    def track(self) -> str:
        return "" if self.track_number is None else str(self.track_number)

    @property
    def details(self) -> str:
        """`key: F major; string: D; tempo: 60; stage: listen`, for the comment field."""
        named = {
            "key": self.key,
            "string": self.string,
            "tempo": self.tempo,
            "stage": self.stage,
        }
        return "; ".join(f"{name}: {text}" for name, text in named.items() if text)
