"""Headers as bytes on the line: what a person typed is text, and reads back as it was typed.

The standard library takes `=?utf-8?q?…?=` in a text for an encoded word (RFC 2047) and decodes it,
line breaks and all. So whatever is not plainly words is written here as encoded words of its own.
"""

from __future__ import annotations

import base64
import re
from collections.abc import Iterable, Iterator
from email.headerregistry import Address
from email.policy import EmailPolicy
from typing import Self
from urllib.parse import quote

LINE_CHARACTERS = 76  # of a line with an encoded word, RFC 2047 section 2
LONGEST_WORD = 60  # characters, so that it stands on a line with any header's name
ENCODED_BYTES = 36  # of UTF-8, which make 48 characters of base64 and 60 with what is around them
PARAMETER_CHARACTERS = 50  # of a parameter in percent form, on a line of its own
_TEXT = re.compile(r"[!-~]+(?: [!-~]+)*")
_PHRASE = re.compile(r"[\w!#$%&'*+/^`{|}~-]+(?: [\w!#$%&'*+/^`{|}~-]+)*", re.ASCII)
_FILE = re.compile(r"[\w.+()&,~-]+(?: [\w.+()&,~-]+)*", re.ASCII)


class Header(str):
    """A header's value, written as it stands with its folds; the library reads nothing in it."""

    name: str

    def __new__(cls, name: str, value: str) -> Self:
        header = super().__new__(cls, value)
        header.name = name
        return header

    def fold(self, *, policy: EmailPolicy) -> str:
        return f"{self.name}: {self}{policy.linesep}"


def text_header(name: str, text: str) -> Header:
    """Any text in one line, like a subject."""
    return Header(name, _folded(_words(text, _TEXT), len(name)))


def address_header(name: str, addresses: Iterable[Address]) -> Header:
    words: list[str] = []
    for each in addresses:
        if words:
            words[-1] += ","
        if each.display_name:
            words += [*_words(each.display_name, _PHRASE), f"<{each.addr_spec}>"]
        else:
            words.append(each.addr_spec)
    return Header(name, _folded(words, len(name)))


def attachment_header(file_name: str) -> Header:
    """`Content-Disposition` of a file; a name that is not plain is written by RFC 2231."""
    if _FILE.fullmatch(file_name) and len(file_name) <= LONGEST_WORD:
        parameters = [f'filename="{file_name}"']
    else:
        parts = list(_percent_parts(file_name))
        numbers = (f"*{number}" for number in range(len(parts))) if len(parts) > 1 else [""]
        parameters = [
            f"filename{number}*={part}" for number, part in zip(numbers, parts, strict=True)
        ]
    return Header("Content-Disposition", ";\r\n ".join(["attachment", *parameters]))


def _words(text: str, plain: re.Pattern[str]) -> list[str]:
    """Words to stand apart by single spaces: the text's own, or encoded ones."""
    words = text.split(" ")
    if not text or (
        plain.fullmatch(text) and "=?" not in text and max(map(len, words)) <= LONGEST_WORD
    ):
        return words
    return [
        f"=?utf-8?b?{base64.b64encode(piece.encode()).decode('ascii')}?="
        for piece in _pieces(text, ENCODED_BYTES)
    ]


def _pieces(text: str, most_bytes: int) -> Iterator[str]:
    """The text in pieces of whole characters, none of more bytes of UTF-8."""
    piece, size = "", 0
    for letter in text:
        more = len(letter.encode())
        if size + more > most_bytes:
            yield piece
            piece, size = "", 0
        piece, size = piece + letter, size + more
    yield piece


def _percent_parts(text: str) -> Iterator[str]:
    part = "utf-8''"
    for letter in text:
        coded = quote(letter, safe="")
        if len(part + coded) > PARAMETER_CHARACTERS:
            yield part
            part = ""
        part += coded
    yield part


def _folded(words: Iterable[str], used: int) -> str:
    """Words on lines of 76 characters, after a name and its colon."""
    folded, room = "", LINE_CHARACTERS - used - len(":")
    for word in words:
        if len(word) < room or not folded:
            folded += f" {word}" if folded else word
        else:
            folded += f"\r\n {word}"
            room = LINE_CHARACTERS
        room -= len(word) + 1
    return folded
