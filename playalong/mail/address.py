"""Mail addresses, checked: RFC 5322 in form, RFC 5321 in length, names in any letters."""

from __future__ import annotations

import re
import unicodedata
from email import policy
from email.headerregistry import Address
from typing import Any

from playalong.errors import PlayalongError, short

LONGEST_NAME = 200  # characters, so that no header line comes near the 998 of RFC 5322
LONGEST_TEXT = 20_000  # characters of addresses that are read at once
LONGEST_LOCAL, LONGEST_ADDRESS = 64, 254  # octets, RFC 5321 section 4.5.3.1
LABEL = re.compile(r"(?!-)[A-Za-z0-9-]{1,63}(?<!-)")
# Letters that the standard library's IDNA 2003 turns into others, so that the mail would go to
# another domain than the one written.
CHANGED_LETTERS = "ßς\u200c\u200d"
PRIVATE_USE = range(0xE000, 0x10FFFE)  # more signs than a text can hold that a person typed


class AddressError(PlayalongError):
    """An address that no mail can be sent to."""


def parse_addresses(text: str) -> tuple[Address, ...]:
    """One or more addresses, with names or without, apart by commas: `Name <a@example.org>`."""
    one_line(text, "an address")
    if len(text) > LONGEST_TEXT:
        raise AddressError(f'"{short(text)}" has more than {LONGEST_TEXT:,} characters')
    try:
        found, wrong = _parsed(text)
    except (IndexError, ValueError, RecursionError):  # the standard library on "a@" and its like
        found, wrong = (), False
    if not found:
        raise AddressError(f'"{short(text)}" is not a mail address like name@example.org')
    checked = tuple(_checked(each, text) for each in found)
    if wrong:
        more = "; addresses stand apart by commas" if ";" in text else ""
        raise AddressError(
            f'"{short(text)}" is not a mail address like name@example.org, or '
            f"Name <name@example.org>{more}"
        )
    return checked


def parse_address(text: str) -> Address:
    """Exactly one address."""
    found = parse_addresses(text)
    if len(found) > 1:
        raise AddressError(f'"{short(text)}" is {len(found)} addresses; one stands here')
    return found[0]


def one_line(text: str, what: str) -> str:
    """The text, if it is one line: a line break would begin a header of its own."""
    if any(unicodedata.category(letter) in ("Cc", "Zl", "Zp", "Cs") for letter in text):
        raise AddressError(
            f"{what} has a line break or another control character in it: {short(text)!r}"
        )
    return text


def _parsed(text: str) -> tuple[tuple[Address, ...], bool]:
    """The addresses, and whether there is a defect in their form.

    An encoded word is not for people to type: its `=?` is parted while the standard library reads,
    which would decode it, line breaks and all.
    """
    parting = next(letter for letter in map(chr, PRIVATE_USE) if letter not in text)
    header: Any = policy.SMTP.header_factory("To", text.replace("=?", f"={parting}?"))
    found = (
        Address(*(part.replace(parting, "") for part in (a.display_name, a.username, a.domain)))
        for a in header.addresses
    )
    return tuple(found), bool(header.defects)


def _checked(address: Address, text: str) -> Address:
    written = f'"{short(text)}"'
    if not (address.username and address.domain) or "=?" in address.username:
        raise AddressError(f"{written} is not a mail address like name@example.org")
    if not address.username.isascii():
        raise AddressError(
            f'{written}: before the @ stands "{short(address.username)}"; most servers take only '
            "plain letters there, so ask for the address's plain form"
        )
    if len(address.display_name) > LONGEST_NAME:
        raise AddressError(f"{written}: the name has more than {LONGEST_NAME} characters")
    domain = _ascii_domain(address.domain, written)
    if len(address.username) > LONGEST_LOCAL or len(f"{address.username}@{domain}") > (
        LONGEST_ADDRESS
    ):
        raise AddressError(
            f"{written}: an address has {LONGEST_LOCAL} characters at most before the @ and "
            f"{LONGEST_ADDRESS} in all"
        )
    return Address(address.display_name, address.username, domain)


def _ascii_domain(domain: str, written: str) -> str:
    """`bücher.example` as `xn--bcher-kva.example` (RFC 3490)."""
    if not domain.isascii():
        if any(letter in CHANGED_LETTERS for letter in domain):
            raise AddressError(f'{written}: write the domain "{domain}" in its xn-- form')
        try:
            domain = domain.encode("idna").decode("ascii")
        except UnicodeError:
            domain = ""
    if not all(LABEL.fullmatch(label) for label in domain.split(".")):
        raise AddressError(f"{written}: what stands after the @ is not a domain like example.org")
    return domain
