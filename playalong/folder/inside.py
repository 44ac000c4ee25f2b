"""Names that are read back from a file: only a plain path below OUT is ever acted on."""

from __future__ import annotations

import json
import os
import unicodedata
from collections.abc import Sequence
from pathlib import Path, PurePosixPath

from playalong.folder.names import RECORD_FOLDER, RESERVED

SHOWN_NAMES = 3
JUNCTION = 0xA0000003  # IO_REPARSE_TAG_MOUNT_POINT; a file in a cloud has another tag
LONGEST_SHOWN = 80  # characters of a name that is no name
FORBIDDEN = frozenset('\\:*?"<>|')  # of them `\` and `:` lead elsewhere on some systems


def is_plain(name: str) -> bool:
    """Whether it is a relative path with forward slashes, the same file on every system."""
    if any(c in FORBIDDEN or unicodedata.category(c) in ("Cc", "Cs") for c in name):
        return False
    return all(
        part and part[-1] not in ". " and part.split(".")[0].casefold() not in RESERVED
        for part in name.split("/")
    )


def may_be_ours(name: str) -> bool:
    """A plain path, and not into the record's own folder."""
    return is_plain(name) and name.split("/")[0].casefold() != RECORD_FOLDER


def is_link(path: Path) -> bool:
    """A symbolic link, or what Windows calls a junction."""
    if path.is_symlink():
        return True
    try:
        return getattr(os.lstat(path), "st_reparse_tag", 0) == JUNCTION
    except OSError:
        return False


def link_on_the_way(out: Path, name: str) -> str | None:
    """The first folder of a plain path below `out` that is a link; `out` itself may be one."""
    folders = reversed(PurePosixPath(name).parents[:-1])
    return next((str(folder) for folder in folders if is_link(out / folder)), None)


def quoted(name: str) -> str:
    """A name that may hold anything, in double quotes and in characters that do nothing."""
    short = name if len(name) <= LONGEST_SHOWN else name[:LONGEST_SHOWN] + "…"
    return json.dumps(short, ensure_ascii=not short.isprintable())


def few(names: Sequence[str]) -> str:
    """The first of them; that there are more is hinted at."""
    return ", ".join(names[:SHOWN_NAMES]) + (" …" if len(names) > SHOWN_NAMES else "")
