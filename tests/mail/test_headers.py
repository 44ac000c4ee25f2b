"""What a person typed is text in every header, also where it looks like an encoded word."""

from __future__ import annotations

from email import policy
from email.headerregistry import Address
from email.message import EmailMessage
from email.parser import BytesParser
from pathlib import Path

import pytest
from fast_mail_parser import parse_email
from mailfolder import TO, folder_of
from mailserver import Taken, smtp_server

from playalong.mail.address import AddressError, parse_address
from playalong.mail.compose import MailOptions, compose
from playalong.mail.contents import Choice, read_contents
from playalong.mail.message import Attachment, Letter, message_bytes
from playalong.mail.send import send_mails
from playalong.mail.settings import Server

DATE = "Tue, 15 Nov 1994 08:12:31 -0200"  # any date in the form of RFC 5322
SENDER = Address("Me", "me", "example.org")
SMUGGLED = (
    "=?utf-8?q?x=0ABcc=3A_thief=40evil.example?=",
    "=?utf-8?b?eApCY2M6IHRoaWVmQGV2aWwuZXhhbXBsZQ==?=",
    "before =?iso-8859-1?q?x=0D=0ABcc=3A_thief=40evil.example?= after",
    "=?utf-8?q?a?= =?utf-8?q?=0ABcc=3Athief=40evil.example?=",
)


def head(content: bytes) -> bytes:
    """Headers of a mail, unfolded."""
    return content.partition(b"\r\n\r\n")[0].replace(b"\r\n ", b" ")


def names(content: bytes) -> list[bytes]:
    return [line.partition(b":")[0] for line in head(content).split(b"\r\n")]


def is_inert(content: bytes) -> None:
    assert b"Bcc" not in names(content)
    assert not any(byte < 32 or byte > 126 for byte in head(content).replace(b"\r\n", b""))
    theirs = parse_email(content)
    assert not {name.casefold() for name in theirs.headers} & {"bcc"}
    assert b"thief@" not in head(content)


def python_reads(content: bytes) -> EmailMessage:
    message = BytesParser(policy=policy.default).parsebytes(content)
    assert isinstance(message, EmailMessage)
    return message


@pytest.mark.parametrize("typed", SMUGGLED)
def test_an_encoded_word_in_a_subject_reads_back_as_it_was_typed(typed: str) -> None:
    content = message_bytes(Letter(typed, TO, "t", "h"), date=DATE)
    is_inert(content)
    assert python_reads(content)["Subject"] == typed
    assert parse_email(content).subject == typed


@pytest.mark.parametrize(
    ("typed", "written"),
    [(typed, f'"{typed}" <a@example.org>') for typed in SMUGGLED]
    + [("=?utf-8?q?x=0ABcc?=", "=?utf-8?q?x=0ABcc?= <a@example.org>")],
)
def test_an_encoded_word_in_a_name_reads_back_as_it_was_typed(typed: str, written: str) -> None:
    address = parse_address(written)
    assert address.display_name == typed
    letter = Letter("s", (address,), "t", "h", cc=(address,), sender=address)
    content = message_bytes(letter, date=DATE)
    is_inert(content)
    ours, theirs = python_reads(content), parse_email(content)
    for name in ("From", "To", "Cc"):
        (read,) = ours[name].addresses
        assert (read.display_name.replace(" ", ""), read.addr_spec) == (
            typed.replace(" ", ""),  # of several encoded words, this reader keeps spaces between
            "a@example.org",
        )
    assert [(each.display_name, each.address) for each in theirs.to] == [(typed, "a@example.org")]


@pytest.mark.parametrize("typed", SMUGGLED[:2])
def test_an_encoded_word_before_the_at_is_no_address(typed: str) -> None:
    with pytest.raises(AddressError, match="is not a mail address"):
        parse_address(f"{typed}@example.org")


@pytest.mark.parametrize("typed", SMUGGLED)
def test_an_encoded_word_in_a_files_name_reads_back_as_it_was_typed(
    tmp_path: Path, typed: str
) -> None:
    (tmp_path / "a").write_bytes(b"x")
    files = (Attachment(f"{typed}.mp3", 1, tmp_path / "a"),)
    content = message_bytes(Letter("s", TO, "t", "h", files), date=DATE)
    is_inert(content)
    assert b"=?" not in content.split(b"Content-Disposition")[1].split(b"\r\n\r\n")[0]
    (part,) = python_reads(content).iter_attachments()
    assert part.get_filename() == f"{typed}.mp3"
    assert [each.filename for each in parse_email(content).attachments] == [f"{typed}.mp3"]


@pytest.mark.parametrize("sign", ["\n", "\r", "\0", "\x1b", "\x85", "\u2028"])
def test_no_control_character_comes_into_a_header_by_any_way(tmp_path: Path, sign: str) -> None:
    with pytest.raises(AddressError, match="the name of a file has a line break"):
        Attachment(f"a{sign}b.mp3", 1, tmp_path)
    if sign not in "\r\n":  # which Address itself refuses
        with pytest.raises(AddressError, match="an address has a line break"):
            Letter("s", (Address(f"a{sign}b", "a", "example.org"),), "t", "h")


@pytest.mark.parametrize("typed", SMUGGLED)
def test_a_server_receives_no_header_that_a_title_smuggles(tmp_path: Path, typed: str) -> None:
    out = folder_of(tmp_path, [2000], title=typed)
    to = (parse_address(f'"{typed}" <pupil@example.org>'),)
    options = MailOptions(to, 1_000_000, sender=SENDER, to_send=True, greeting=typed)
    taken = Taken()
    with smtp_server(taken) as port:
        send_mails(
            compose(read_contents(out, Choice()), options).mails,
            Server("127.0.0.1", SENDER, "plain", port, timeout_seconds=5),
        )
    assert taken.recipients == [["pupil@example.org"]]
    is_inert(taken.contents[0])
    assert parse_email(taken.contents[0]).subject == typed


@pytest.mark.parametrize(
    "typed", ["  two  spaces ", "x" * 300, "ü" * 200, "a" + "名" * 90, "", "plain words", "?= =?"]
)
def test_a_subject_reads_back_to_the_letter_on_lines_of_78(typed: str) -> None:
    content = message_bytes(Letter(typed, TO, "t", "h"), date=DATE)
    assert max(map(len, content.split(b"\r\n"))) <= 78
    assert parse_email(content).subject == typed
    assert python_reads(content)["Subject"] == typed
