"""The one root of every error that playalong raises on purpose."""

from __future__ import annotations

import difflib
import unicodedata
from collections.abc import Iterable

TURNING = ("LRE", "RLE", "LRO", "RLO", "PDF", "LRI", "RLI", "FSI", "PDI")  # Unicode annex 9

LONGEST_QUOTED = 60  # characters of somebody's text within a message
MOST_OFFERED = 32


class PlayalongError(Exception):
    """Something the person can put right; its text says what and how."""

    exit_status = 2


class SurroundingsError(PlayalongError):
    """Nothing is wrong with what was asked, but with disk, folder or libraries."""

    exit_status = 3


def reason(error: OSError) -> str:
    """What the system says of its error, to stand within a sentence."""
    return (error.strerror or str(error)).rstrip(".")


def shown(text: str) -> str:
    """A text from elsewhere within a line of a message: what would steer a terminal, break the
    line or turn its direction stands there as an escape."""
    return "".join(
        letter.encode("unicode_escape").decode("ascii") if _steers(letter) else letter
        for letter in text
    )


def _steers(letter: str) -> bool:
    turns = unicodedata.bidirectional(letter) in TURNING
    return turns or unicodedata.category(letter) in ("Cc", "Cs", "Zl", "Zp")


def short(text: str, longest: int = LONGEST_QUOTED) -> str:
    """A text for a message, cut where it is long."""
    return text if len(text) <= longest else text[: longest - 1] + "…"


def nearest(word: str, known: Iterable[str]) -> str:
    """`; did you mean "…"?` for the closest of `known`, else the list of them, which may be a
    person's own and is cut where it is long."""
    word, names = word[:LONGEST_QUOTED], list(known)
    folded = {name.casefold(): name for name in names}
    starts = [name for name in folded if len(word) > 1 and name.startswith(word.casefold())]
    close = starts or difflib.get_close_matches(word.casefold(), folded, n=1, cutoff=0.5)
    if close:
        return f'; did you mean "{short(folded[close[0]])}"?'
    more = ", …" if len(names) > MOST_OFFERED else ""
    offered = ", ".join(f'"{short(name)}"' for name in names[:MOST_OFFERED])
    return f"; known are {offered}{more}"
