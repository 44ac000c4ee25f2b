"""From the files of a folder to mails that fit: lower the bit rate, then split, never drop.

The tracks decide how many mails there are. Where they need several, the bit rate is lowered as
little as brings them into the fewest. Sessions repeat what the tracks hold, so they go along
where there is room for them; one that does not is told.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from email.headerregistry import Address
from email.utils import format_datetime, localtime, make_msgid
from math import inf

from playalong.folder.names import ZIP, safe_name
from playalong.mail.address import short
from playalong.mail.contents import Contents, Item
from playalong.mail.message import Attachment, Letter, message_bytes, predicted_bytes
from playalong.mail.parcels import (
    FLOOR_KBPS,
    TooLargeError,
    is_mp3,
    lower_rates,
    megabytes,
    pack,
    predicted_mp3_bytes,
)
from playalong.mail.words import Occasion, mail_words, numbered
from playalong.mail.zip import predicted_zip_bytes, safe_places
from playalong.sound.id3 import read_tag

LONGEST_DERIVED = 120  # characters of a subject made from a title
MOST_MAILS = 999  # a mail is weighed as one of so many, before their number is known
SPARE_BYTES = 64  # lines may break elsewhere when numbers grow shorter

Smaller = Callable[[Sequence[Item], int], Sequence[Item]]  # the same items at so many kbit/s


@dataclass(frozen=True)
class Envelope:
    """Who gets a set, and how."""

    to: tuple[Address, ...]
    subject: str = ""  # the title where empty
    cc: tuple[Address, ...] = ()
    sender: Address | None = None
    greeting: str = ""
    limit_bytes: int = 20_000_000
    zipped: bool = False
    needs_sessions: bool = False  # as needful as the tracks, whatever that costs
    to_send: bool = False  # now; else a draft


@dataclass(frozen=True)
class Mail:
    """One mail, planned: `size_bytes` is the size that `content` will have."""

    letter: Letter
    items: tuple[Item, ...]
    size_bytes: int
    date: str
    message_id: str | None

    def content(self) -> bytes:
        return message_bytes(self.letter, date=self.date, message_id=self.message_id)


@dataclass(frozen=True)
class Composed:
    mails: tuple[Mail, ...]
    kbps: int | None  # where the bit rate was lowered
    notes: tuple[str, ...]  # what the sender should know


def compose(contents: Contents, envelope: Envelope, smaller: Smaller | None = None) -> Composed:
    """Every mail of a set. Raises TooLargeError, with the ways out, and AddressError."""
    return _Composer(contents, envelope, smaller).composed()


@dataclass(frozen=True)
class _Composer:
    contents: Contents
    envelope: Envelope
    smaller: Smaller | None

    def composed(self) -> Composed:
        needed, extra = list(self.contents.items), list(self.contents.sessions)
        if self.envelope.needs_sessions:
            needed, extra = needed + extra, []
        packs, error = self.packed(needed)
        kbps = self.lower_rate(needed, len(packs) if packs else inf)
        if kbps and self.smaller:
            lowered = list(self.smaller([*needed, *extra], kbps))
            needed, extra = lowered[: len(needed)], lowered[len(needed) :]
            packs, error = self.packed(needed)
        if error:
            raise error
        packs, left_out = self.with_extra(packs, extra)
        date, notes = format_datetime(localtime()), list(self.contents.notes)
        mails = tuple(self.mail(p, n, len(packs), date) for n, p in enumerate(packs, 1))
        if len(mails) > 1:
            notes.append(f"{len(mails)} mails, because one would be larger than the limit")
        notes += [
            f"{item.place} ({megabytes(item.size_bytes)}) is not in the mail, because it would not "
            "fit beside the tracks; --session takes it along all the same"
            for item in left_out
        ]
        return Composed(mails, kbps if self.smaller else None, tuple(notes))

    def packed(self, items: Sequence[Item]) -> tuple[list[list[Item]], TooLargeError | None]:
        try:
            packs = pack(items, self.weigh, self.envelope.limit_bytes)
        except TooLargeError as error:
            return [], error
        return [list(each) for each in packs], None

    def lower_rate(self, items: Sequence[Item], mails_now: float) -> int | None:
        """The highest bit rate at which there are as few mails as at the floor; None if the
        floor saves no mail."""
        if mails_now == 1 or not self.smaller:
            return None
        counts = {
            kbps: len(self.packed([_at(item, kbps) for item in items])[0]) or inf
            for kbps in lower_rates(items)
        }
        fewest = counts.get(FLOOR_KBPS, inf)
        if fewest >= mails_now:
            return None
        return max(kbps for kbps, count in counts.items() if count == fewest)

    def with_extra(
        self, packs: list[list[Item]], extra: Sequence[Item]
    ) -> tuple[list[list[Item]], list[Item]]:
        """The packs with each extra item in the first that has room, and those without room."""
        left_out = []
        for item in extra:
            room = (p for p in packs if self.weigh([*p, item]) <= self.envelope.limit_bytes)
            found = next(room, None)
            if found is None:
                left_out.append(item)
            else:
                found.append(item)
        return packs, left_out

    def weigh(self, items: Sequence[Item]) -> int:
        """Bytes of a mail that holds these, however many mails there will be."""
        return self.mail(items, MOST_MAILS, MOST_MAILS, "x" * 31).size_bytes + SPARE_BYTES

    def mail(self, items: Sequence[Item], number: int, total: int, date: str) -> Mail:
        letter = self.letter([self.contents.read_me, *items], number, total)
        message_id = None
        if self.envelope.to_send and self.envelope.sender:
            message_id = make_msgid(domain=self.envelope.sender.domain)
        size = predicted_bytes(letter, date=date, message_id=message_id)
        return Mail(letter, tuple(items), size, date, message_id)

    def letter(self, items: Sequence[Item], number: int, total: int) -> Letter:
        envelope, title = self.envelope, self.contents.title
        stem = safe_name(title) + (f"-{number}-of-{total}" if total > 1 else "")
        if envelope.zipped:
            attached = [_zipped(items, stem + ZIP, safe_name(title))]
        else:
            attached = [Attachment(item.name, item.size_bytes, item.path) for item in items]
        plain, html = mail_words(
            Occasion(
                title,
                self.contents.stages,
                envelope.greeting,
                number,
                total,
                attached[0].name if envelope.zipped else "",
            ),
            items,
        )
        subject = envelope.subject or short(title, LONGEST_DERIVED)
        return Letter(
            numbered(subject, number, total),
            envelope.to,
            plain,
            html,
            tuple(attached),
            envelope.cc,
            envelope.sender,
        )


def _zipped(items: Sequence[Item], name: str, folder: str) -> Attachment:
    places = safe_places((item.place for item in items), folder)
    size = predicted_zip_bytes(
        {place: item.size_bytes for place, item in zip(places, items, strict=True)}
    )
    files = {place: item.path for place, item in zip(places, items, strict=True)}
    return Attachment(name, size, files)


def _at(item: Item, kbps: int) -> Item:
    """The item as large as it would be at a bit rate."""
    if not is_mp3(item):
        return item
    size = predicted_mp3_bytes(item.seconds, kbps, len(read_tag(item.path)))
    return replace(item, size_bytes=min(item.size_bytes, size))
