"""Addresses: what is taken, what is refused, and that no header can be smuggled in."""

from __future__ import annotations

import pytest

from playalong.mail.address import AddressError, parse_address, parse_addresses


@pytest.mark.parametrize(
    ("text", "read"),
    [
        ("a@example.org", [("", "a@example.org")]),
        ("Ann Other <a@example.org>", [("Ann Other", "a@example.org")]),
        ("Jörg <a@example.org>, b@example.org", [("Jörg", "a@example.org"), ("", "b@example.org")]),
        ('"Other, Ann" <a@example.org>', [("Other, Ann", "a@example.org")]),
        ("a@localhost", [("", "a@localhost")]),
        # RFC 3490's ToASCII of "bücher", as its many published examples have it
        ("a@bücher.example", [("", "a@xn--bcher-kva.example")]),
        ("first.last+tag@sub.example.org", [("", "first.last+tag@sub.example.org")]),
    ],
)
def test_addresses_are_read_with_and_without_names(text: str, read: list[tuple[str, str]]) -> None:
    assert [(each.display_name, each.addr_spec) for each in parse_addresses(text)] == read


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("nobody", "is not a mail address like name@example.org"),
        ("", "is not a mail address"),
        ("a@", "is not a mail address"),
        ("@example.org", "is not a mail address"),
        ("a@b@example.org", "is not a mail address"),
        ("Other, Ann <a@example.org>", "is not a mail address"),
        ("a@example.org; b@example.org", "addresses stand apart by commas"),
        ("a b@example.org", "is not a mail address"),
        ("<script>@example.org", "is not a mail address"),
        ("a@-example.org", "not a domain like example.org"),
        ("a@exam_ple.org", "not a domain like example.org"),
        ("jörg@example.org", "ask for the address's plain form"),
        ("a@straße.example", "write the domain .* in its xn-- form"),
        ("a" * 65 + "@example.org", "64 characters at most before the @"),
        ("a@" + ".".join(["b" * 60] * 5), "254 in all"),
        ("x" * 201 + " <a@example.org>", "more than 200 characters"),
        ("a@" + "b" * 10_000 + ".org", "not a domain"),
    ],
)
def test_what_is_no_address_is_told_with_its_words(text: str, said: str) -> None:
    with pytest.raises(AddressError, match=said):
        parse_addresses(text)


@pytest.mark.parametrize("sign", ["\n", "\r\n", "\r", "\0", "\x1b", "\u2028", "\u2029", "\ud800"])
@pytest.mark.parametrize("text", ["a@example.org{}Bcc: b@example.org", "A{}B <a@example.org>"])
def test_a_line_break_in_an_address_is_refused(text: str, sign: str) -> None:
    with pytest.raises(AddressError, match="line break or another control character"):
        parse_addresses(text.format(sign))


def test_one_address_is_not_two() -> None:
    with pytest.raises(AddressError, match="is 2 addresses; one stands here"):
        parse_address("a@example.org, b@example.org")
