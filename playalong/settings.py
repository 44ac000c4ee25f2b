"""A person's own settings: the folder that their files lie in, and how such a file is read.

Only commands ask for them. What is imported from playalong does the same for everybody.
"""

from __future__ import annotations

import re
import tomllib
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from playalong.errors import PlayalongError, reason


class SettingsError(PlayalongError):
    """A settings file that cannot be used, and where; the text never shows a secret."""


def settings_folder() -> Path:
    """Where the platform keeps settings: `~/.config/playalong` on Linux (XDG Base Directories)."""
    from platformdirs import user_config_path

    return user_config_path("playalong", appauthor=False)


@dataclass(frozen=True)
class SettingsFile:
    """A file as read; one that is not there holds nothing."""

    path: Path
    text: str = field(default="", repr=False)
    values: dict[str, Any] = field(default_factory=dict, repr=False)

    @classmethod
    def read(cls, path: Path, *, asked: bool = False) -> SettingsFile:
        """SettingsError if it is no TOML, or if somebody `asked` for it and it is not there."""
        try:
            text = path.read_text(encoding="utf-8-sig")
            return cls(path, text, tomllib.loads(text))
        except FileNotFoundError:
            if asked:
                raise SettingsError(f"there is no settings file {path}") from None
            return cls(path)
        except OSError as error:
            raise SettingsError(f"cannot read {path}: {reason(error)}") from None
        except UnicodeDecodeError:
            raise SettingsError(f"{path} is not UTF-8 text") from None
        except (ValueError, RecursionError) as error:
            # The line itself is not shown: it may hold a password.
            where = re.search(r"at line (\d+)", str(error))
            line = f", line {where[1]}" if where else ""
            raise SettingsError(
                f'{path}{line} is not TOML; text stands in double quotes: name = "words"'
            ) from None

    def line_of(self, name: str) -> int | None:
        """The line that a setting stands on."""
        written = re.compile(rf"""\s*(\[\s*)?["']?{re.escape(name)}["']?\s*[=.\]]""")
        lines = enumerate(self.text.split("\n"), 1)
        return next((number for number, line in lines if written.match(line)), None)

    def place(self, name: str) -> str:
        """File and line of a setting, for messages."""
        line = self.line_of(name)
        return f"{self.path}" if line is None else f"{self.path}, line {line}"
