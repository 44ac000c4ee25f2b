"""Addresses: what is taken, what is refused, and that no header can be smuggled in."""

from __future__ import annotations

import pytest

from playalong.errors import short
from playalong.mail.address import AddressError, one_line, parse_address, parse_addresses

# RFC 5321 section 4.5.3.1, RFC 1035 section 2.3.4
LOCAL, WHOLE, LABEL = 64, 254, 63


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


def of_length(length: int) -> str:
    """An address of so many characters, its domain in labels of the greatest length."""
    labels = "b" * (length - len("a@"))
    return "a@" + ".".join(labels[at : at + LABEL] for at in range(0, len(labels), LABEL + 1))


@pytest.mark.parametrize(
    ("text", "over", "said"),
    [
        ("a" * LOCAL + "@b.org", "a" * (LOCAL + 1) + "@b.org", "64 characters at most before"),
        ("a@" + "b" * LABEL + ".org", "a@" + "b" * (LABEL + 1) + ".org", "is not a domain"),
        (of_length(WHOLE), of_length(WHOLE + 1), "254 in all"),
        ("n" * 200 + " <a@b.org>", "n" * 201 + " <a@b.org>", "more than 200 characters"),
    ],
    ids=["before the @", "label", "in all", "name"],
)
def test_an_address_may_be_as_long_as_the_standard_has_it_and_no_longer(
    text: str, over: str, said: str
) -> None:
    (read,) = parse_addresses(text)
    assert text.endswith((read.addr_spec, f"<{read.addr_spec}>"))
    with pytest.raises(AddressError, match=said):
        parse_addresses(over)


def test_the_length_of_an_address_is_that_of_its_ascii_form() -> None:
    """`bü` is `xn--b-xga`, seven octets more than it has letters (RFC 3490)."""
    room = of_length(WHOLE - len("xn--b-xga."))
    within = room.replace("a@", "a@bü.")
    assert len(parse_address(within).addr_spec) == WHOLE
    with pytest.raises(AddressError, match="254 in all"):
        parse_address(within.replace("a@", "aa@"))


@pytest.mark.parametrize("domain", ["-b.org", "b-.org", "b..org", ".org", "b.org.", "b_c.org"])
def test_a_domain_that_is_none_is_refused(domain: str) -> None:
    with pytest.raises(AddressError, match=r"is not a domain|is not a mail address"):
        parse_address(f"a@{domain}")


@pytest.mark.parametrize("letter", ["ß", "ς", "\u200c", "\u200d"])
def test_a_letter_that_would_lead_to_another_domain_is_refused(letter: str) -> None:
    with pytest.raises(AddressError, match="in its xn-- form"):
        parse_address(f"a@stra{letter}e.example")


@pytest.mark.parametrize("sign", ["\t", "\x7f", "\x85", "\udcff"])
def test_no_control_character_passes(sign: str) -> None:
    with pytest.raises(AddressError, match="a name has a line break or another control character"):
        one_line(f"A{sign}B", "a name")


@pytest.mark.parametrize("text", ["Zoë ♭", "n°\u00a03", "\u202eright to left", ""])
def test_letters_of_every_script_are_one_line(text: str) -> None:
    assert one_line(text, "a name") == text


def test_a_text_for_a_message_is_cut_beyond_80_characters() -> None:
    assert short("x" * 80, 80) == "x" * 80
    assert short("x" * 81, 80) == "x" * 79 + "…"


@pytest.mark.parametrize("sign", ["\n", "\r\n", "\r", "\0", "\x1b", "\u2028", "\u2029", "\ud800"])
@pytest.mark.parametrize("text", ["a@example.org{}Bcc: b@example.org", "A{}B <a@example.org>"])
def test_a_line_break_in_an_address_is_refused(text: str, sign: str) -> None:
    with pytest.raises(AddressError, match="line break or another control character"):
        parse_addresses(text.format(sign))


def test_one_address_is_not_two() -> None:
    with pytest.raises(AddressError, match="is 2 addresses; one stands here"):
        parse_address("a@example.org, b@example.org")
