"""A mail as bytes: RFC 5322 and MIME, by the standard library, with sizes known beforehand.

Texts are quoted-printable and files base64 (RFC 2045), in lines of 76 characters at most, so that
any server may carry them. Boundaries are fixed: `=_` can stand in neither encoding, so they
cannot be met in a part, and equal mails are equal bytes.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from email import policy
from email.headerregistry import Address
from email.message import EmailMessage, MIMEPart
from functools import cache
from pathlib import Path

from playalong.errors import short
from playalong.folder.names import media_type
from playalong.mail.address import AddressError, one_line
from playalong.mail.headers import (
    Header,
    address_header,
    attachment_header,
    text_header,
)
from playalong.mail.zip import zip_bytes

LINE_CHARACTERS = 76  # RFC 2045 sections 6.7 and 6.8
# The standard library's own 78 is right for headers, and two too many for quoted-printable.
POLICY = policy.SMTP.clone(max_line_length=LINE_CHARACTERS)
BOUNDARIES = ("=_playalong_mixed", "=_playalong_text")
LONGEST_SUBJECT = 500  # characters


@dataclass(frozen=True)
class Attachment:
    """A file in a mail: its name there, its size in bytes, and where its content lies.

    A mapping is a zip of files by their paths within it, made only when it is read.
    """

    name: str
    size_bytes: int
    content: Path | Mapping[str, Path]

    def __post_init__(self) -> None:
        one_line(self.name, "the name of a file")

    @property
    def media_type(self) -> str:
        return media_type(self.name)

    def read(self) -> bytes:
        if isinstance(self.content, Path):
            return self.content.read_bytes()
        return zip_bytes(self.content)


@dataclass(frozen=True)
class Letter:
    """A mail before it is written: who, what about, the words twice, the files."""

    subject: str
    to: tuple[Address, ...]
    plain: str
    html: str
    attachments: tuple[Attachment, ...] = ()
    cc: tuple[Address, ...] = ()
    sender: Address | None = None  # a draft may leave it to the mail program

    def __post_init__(self) -> None:
        one_line(self.subject, "the subject")
        for each in (*self.to, *self.cc, *([self.sender] if self.sender else [])):
            one_line(str(each), "an address")
        if len(self.subject) > LONGEST_SUBJECT:
            raise AddressError(
                f'the subject "{short(self.subject, 40)}" has {len(self.subject):,} characters; '
                f"{LONGEST_SUBJECT} is the most"
            )

    @property
    def recipients(self) -> tuple[str, ...]:
        """Bare addresses for the server, each once."""
        return tuple(dict.fromkeys(each.addr_spec for each in (*self.to, *self.cc)))


def message_bytes(letter: Letter, *, date: str, message_id: str | None = None) -> bytes:
    """The whole mail. A mail without `message_id` is a draft, marked so that programs open it
    ready to send (`X-Unsent`, understood by several mail programs; others open it to read).

    `date` is in the form of RFC 5322.
    """
    message = _frame(letter, date, message_id)
    for attachment in letter.attachments:
        part = _part(attachment.name, attachment.media_type, attachment.read())
        message.attach(part)  # type: ignore[arg-type]  # a MIMEPart is what belongs there
    return message.as_bytes()


def predicted_bytes(letter: Letter, *, date: str, message_id: str | None = None) -> int:
    """The size of `message_bytes` without reading a file; never less than it, and no guess."""
    size = len(_frame(letter, date, message_id).as_bytes())
    for attachment in letter.attachments:
        size += _part_bytes(attachment.name, attachment.media_type)
        size += encoded_bytes(attachment.size_bytes)
    return size


def encoded_bytes(size: int) -> int:
    """Bytes of base64 for `size` bytes, in lines of 76 that each end in CRLF (RFC 2045)."""
    characters = 4 * -(-size // 3)
    return characters + 2 * -(-characters // LINE_CHARACTERS)


def _frame(letter: Letter, date: str, message_id: str | None) -> EmailMessage:
    """Headers and words, without the files."""
    message = EmailMessage(POLICY)
    if letter.sender:
        message["From"] = address_header("From", [letter.sender])
    message["To"] = address_header("To", letter.to)
    if letter.cc:
        message["Cc"] = address_header("Cc", letter.cc)
    message["Subject"] = text_header("Subject", letter.subject)
    message["Date"] = Header("Date", date)
    if message_id:
        message["Message-ID"] = Header("Message-ID", message_id)
    else:
        message["X-Unsent"] = Header("X-Unsent", "1")
    message.set_content(letter.plain, cte="quoted-printable")
    message.add_alternative(letter.html, subtype="html", cte="quoted-printable")
    message.make_mixed(BOUNDARIES[0])
    (text,) = message.iter_parts()
    text.set_boundary(BOUNDARIES[1])
    return message


def _part(name: str, media_type: str, content: bytes) -> MIMEPart:
    part = MIMEPart(POLICY)
    main, _, sub = media_type.partition("/")
    part.set_content(content, main, sub, cte="base64")
    part["Content-Disposition"] = attachment_header(name)
    if main == "text":
        part.set_param("charset", "utf-8")
    return part


@cache
def _part_bytes(name: str, media_type: str) -> int:
    """What a file adds to a mail beside its base64: its headers and its boundary."""
    return len(_part(name, media_type, b"").as_bytes()) + len(f"\r\n--{BOUNDARIES[0]}\r\n")
