"""A server's words, fit to be shown: on one line, short, and without the password."""

from __future__ import annotations

import base64
import re
from collections.abc import Iterator

from playalong.errors import shown

LONGEST_ANSWER = 200  # characters of what a server says
REVEALING = 8  # characters in a row of a password, or of a password encoded
FEWEST = 4  # characters of a form that says anything
NOT_SHOWN = "its words are not shown, because they hold the password"


def discreet(answer: bytes | str, user: str, password: str) -> str:
    """What a server says, without the password should it repeat it, in whatever form."""
    text = answer.decode("utf-8", "replace") if isinstance(answer, bytes) else answer
    if password:
        coded = base64.b64encode(password.encode()).decode()
        both = base64.b64encode(f"\0{user}\0{password}".encode()).decode()
        for secret in (both, coded, password):
            text = text.replace(secret, "***")
        if _reveals(text, password):
            return NOT_SHOWN
    words = re.sub(r"\s+", " ", "".join(c if c.isprintable() else " " for c in text)).strip()
    return shown(words[:LONGEST_ANSWER]) or "no reason given"


def _reveals(text: str, password: str) -> bool:
    """Whether a part of the password stands in a text: plain, backwards, in hexadecimal, or in
    base64 at any offset, whatever stands between the letters and whether they are large."""
    squeezed = _squeezed(re.sub(r"\\x|0x", "", text, flags=re.IGNORECASE))
    return any(part in squeezed for form in _forms(password) for part in _parts(_squeezed(form)))


def _forms(password: str) -> Iterator[str]:
    yield from (password, password[::-1])
    for content in {password.encode("utf-8"), password.encode("utf-16-le")}:
        yield content.hex()
        for shift in range(3):  # bytes that may stand before it in a group of three
            coded = base64.b64encode(b"\0" * shift + content).decode()
            # Only the characters that these bytes alone decide.
            yield coded[-(-8 * shift // 6) : 8 * (shift + len(content)) // 6]


def _parts(form: str) -> Iterator[str]:
    if len(form) <= REVEALING:
        yield from [form] if len(form) >= FEWEST else []
    else:
        yield from (form[at : at + REVEALING] for at in range(len(form) - REVEALING + 1))


def _squeezed(text: str) -> str:
    return "".join(letter for letter in text if letter.isalnum()).casefold()
