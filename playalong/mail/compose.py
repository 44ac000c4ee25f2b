"""From the files of a folder to mails that fit: lower the bit rate, then split, never drop.

The tracks decide how many mails there are. Where they need several, the bit rate is lowered as
little as brings them into the fewest. Sessions repeat what the tracks hold, so they go along
where there is room for them; one that does not is named in a remark.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from email.headerregistry import Address
from email.utils import format_datetime, localtime, make_msgid
from functools import cached_property
from math import inf
from pathlib import Path

from playalong.errors import short
from playalong.folder.files import make_folder, write_bytes
from playalong.folder.names import DRAFT, ZIP, safe_name
from playalong.mail.body import Body
from playalong.mail.contents import Contents, Item
from playalong.mail.message import Attachment, Letter, message_bytes, predicted_bytes
from playalong.mail.parcels import (
    FLOOR_KBPS,
    TooLargeError,
    is_mp3,
    lower_rates,
    megabytes,
    parcels,
    predicted_mp3_bytes,
)
from playalong.mail.zip import predicted_zip_bytes, safe_paths
from playalong.sound.id3 import read_tag

LONGEST_DERIVED = 120  # characters of a subject made from a title
MOST_MAILS = 999  # a mail is weighed as one of so many, before their number is known
ANY_DATE = "x" * 31  # as long as a date in the form of RFC 5322
SPARE_BYTES = 64  # lines may break elsewhere when numbers grow shorter

Shrink = Callable[[Sequence[Item], int], Sequence[Item]]  # the same items at so many kbit/s


@dataclass(frozen=True)
class MailOptions:
    """Who gets a set, and how."""

    to: tuple[Address, ...]
    limit_bytes: int  # of a whole mail, after encoding
    subject: str = ""  # the title where empty
    cc: tuple[Address, ...] = ()
    sender: Address | None = None
    greeting: str = ""
    zipped: bool = False
    needs_sessions: bool = False  # as needful as the tracks, whatever that costs
    to_send: bool = False  # now; else a draft


@dataclass(frozen=True)
class Mail:
    """One mail of a set: `size_bytes` is the size that `content` will have."""

    letter: Letter
    items: tuple[Item, ...]
    size_bytes: int
    date: str
    message_id: str | None

    def content(self) -> bytes:
        return message_bytes(self.letter, date=self.date, message_id=self.message_id)

    @cached_property
    def sha256(self) -> str:
        """Of what it says and holds, whoever it is from and to, and whenever it is sent."""
        bare = replace(self.letter, to=(), cc=(), sender=None)
        return hashlib.sha256(message_bytes(bare, date="", message_id="-")).hexdigest()


@dataclass(frozen=True)
class Composed:
    mails: tuple[Mail, ...]
    kbps: int | None  # where the bit rate was lowered
    remarks: tuple[str, ...]  # what the sender should know


def compose(contents: Contents, options: MailOptions, shrink: Shrink | None = None) -> Composed:
    """Every mail of a set. Raises TooLargeError, with the ways out, and AddressError."""
    return _Composer(contents, options, shrink).composed()


def write_drafts(mails: Sequence[Mail], folder: Path, name: str) -> list[Path]:
    """`name.eml`, or `name-1-of-3.eml` and so on; each is whole or absent."""
    make_folder(folder)
    paths = []
    for number, mail in enumerate(mails, 1):
        paths.append(folder / f"{_numbered_file(name, number, len(mails))}{DRAFT}")
        write_bytes(paths[-1], mail.content())
    return paths


@dataclass(frozen=True)
class _Composer:
    contents: Contents
    options: MailOptions
    shrink: Shrink | None

    def composed(self) -> Composed:
        needed, extra = list(self.contents.items), list(self.contents.sessions)
        if self.options.needs_sessions:
            needed, extra = needed + extra, []
        packed, error = self.packed(needed)
        kbps = self.lower_rate(needed, len(packed) or inf) if self.shrink else None
        if self.shrink and kbps:
            lowered = list(self.shrink([*needed, *extra], kbps))
            needed, extra = lowered[: len(needed)], lowered[len(needed) :]
            packed, error = self.packed(needed)
        if error:
            raise error
        left_out = self.add_extra(packed, extra)
        unread = self.add_extra(packed, self.contents.page_sounds)
        date, remarks = format_datetime(localtime()), list(self.contents.remarks)
        mails = tuple(self.mail(each, n, len(packed), date) for n, each in enumerate(packed, 1))
        if len(mails) > 1:
            remarks.append(f"{len(mails)} mails, because one would be larger than the limit")
        remarks += [
            f"{item.listed} ({megabytes(item.size_bytes)}) is not in the mail, because it would "
            "not fit beside the tracks; --session takes it along all the same"
            for item in left_out
        ]
        if unread:
            remarks.append(
                f"the zip has no room for {len(unread)} files that the page reads; there it plays "
                "the tracks themselves, and a loop has a short gap"
            )
        return Composed(mails, kbps, tuple(remarks))

    def packed(self, items: Sequence[Item]) -> tuple[list[list[Item]], TooLargeError | None]:
        try:
            found = parcels(items, self.weigh, self.options.limit_bytes)
        except TooLargeError as error:
            return [], error
        return [list(each) for each in found], None

    def lower_rate(self, items: Sequence[Item], mails_now: float) -> int | None:
        """The highest bit rate at which there are as few mails as at the floor; None if the
        floor saves no mail."""
        if mails_now == 1:
            return None
        counts = {
            kbps: len(self.packed([_at(item, kbps) for item in items])[0]) or inf
            for kbps in lower_rates(items)
        }
        fewest = counts.get(FLOOR_KBPS, inf)
        if fewest >= mails_now:
            return None
        return max(kbps for kbps, count in counts.items() if count == fewest)

    def add_extra(self, packed: list[list[Item]], extra: Sequence[Item]) -> list[Item]:
        """Put each extra item where there is room first, and give back those without room."""
        left_out = []
        for item in extra:
            room = (p for p in packed if self.weigh([*p, item]) <= self.options.limit_bytes)
            found = next(room, None)
            if found is None:
                left_out.append(item)
            else:
                found.append(item)
        return left_out

    def weigh(self, items: Sequence[Item]) -> int:
        """Bytes of a mail that holds these, however many mails there will be."""
        return self.mail(items, MOST_MAILS, MOST_MAILS, ANY_DATE).size_bytes + SPARE_BYTES

    def mail(self, items: Sequence[Item], number: int, total: int, date: str) -> Mail:
        letter = self.letter([self.contents.read_me, *items], number, total)
        message_id = None
        if self.options.to_send and self.options.sender:
            message_id = make_msgid(domain=self.options.sender.domain)
        size = predicted_bytes(letter, date=date, message_id=message_id)
        return Mail(letter, tuple(items), size, date, message_id)

    def letter(self, items: Sequence[Item], number: int, total: int) -> Letter:
        options, title = self.options, self.contents.title
        if options.zipped:
            name = _numbered_file(safe_name(title), number, total)
            attached = [_zipped(items, f"{name}{ZIP}", safe_name(title))]
        else:
            attached = [Attachment(item.name, item.size_bytes, item.path) for item in items]
        body = Body(
            title,
            self.contents.stages,
            items,
            options.greeting,
            number,
            total,
            attached[0].name if options.zipped else "",
        )
        subject = options.subject or short(title, LONGEST_DERIVED)
        return Letter(
            f"{subject} ({number} of {total})" if total > 1 else subject,
            options.to,
            body.plain(),
            body.html(),
            tuple(attached),
            options.cc,
            options.sender,
        )


def _numbered_file(name: str, number: int, total: int) -> str:
    return f"{name}-{number}-of-{total}" if total > 1 else name


def _zipped(items: Sequence[Item], name: str, folder: str) -> Attachment:
    paths = safe_paths((item.listed for item in items), folder)
    packed = dict(zip(paths, items, strict=True))
    size = predicted_zip_bytes({path: item.size_bytes for path, item in packed.items()})
    return Attachment(name, size, {path: item.path for path, item in packed.items()})


def _at(item: Item, kbps: int) -> Item:
    """The item as large as it would be at a bit rate."""
    if not is_mp3(item):
        return item
    size = predicted_mp3_bytes(item.seconds, kbps, len(read_tag(item.path)))
    return replace(item, size_bytes=min(item.size_bytes, size))
