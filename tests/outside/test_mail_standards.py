"""Mails against RFC 5322, 2045, 2183, 2231, 4648 and by two readers that we did not write.

The readers are Python's own parser and fast-mail-parser, whose parser is the Rust crate
`mailparse`.
"""

from __future__ import annotations

import re
from email import policy
from email.headerregistry import Address
from email.message import EmailMessage
from email.parser import BytesParser
from pathlib import Path

import pytest
from fast_mail_parser import PyMail, parse_email
from hypothesis import given, settings
from hypothesis import strategies as st

from playalong.folder.names import MEDIA_TYPES
from playalong.mail.address import AddressError
from playalong.mail.body import Body
from playalong.mail.message import (
    Attachment,
    Letter,
    encoded_bytes,
    message_bytes,
    predicted_bytes,
)

DATE = "Tue, 15 Nov 1994 08:12:31 -0200"  # any date in the form of RFC 5322
TO = (Address("Jörg „Q“ <script>", "pupil", "example.org"),)
NASTY = '<script>alert("x")</script> & \'quotes\' " ü ♭ 名前 '


def python_reads(content: bytes) -> EmailMessage:
    message = BytesParser(policy=policy.default).parsebytes(content)
    assert isinstance(message, EmailMessage)
    for part in message.walk():
        assert not part.defects
    return message


def rust_reads(content: bytes) -> PyMail:
    mail = parse_email(content)
    assert not mail.warnings
    return mail


def attached(folder: Path, files: dict[str, bytes]) -> tuple[Attachment, ...]:
    found = []
    for number, (name, content) in enumerate(files.items()):
        (folder / str(number)).write_bytes(content)
        found.append(Attachment(name, len(content), folder / str(number)))
    return tuple(found)


def check_lines(content: bytes) -> None:
    """RFC 5322 section 2.1.1 and 2.3; RFC 2045 sections 2.7, 6.7 and 6.8."""
    assert b"\r\n" in content
    assert not re.search(rb"\r(?!\n)|(?<!\r)\n", content)
    assert b"\0" not in content
    assert max(content) < 128
    assert max(map(len, content.split(b"\r\n"))) <= 78  # what RFC 5322 asks for; it allows 998
    for part in python_reads(content).walk():
        if not part.is_multipart():
            assert max(map(len, str(part.get_payload()).splitlines()), default=0) <= 76


# RFC 4648 section 10 (values from memory, and computed)
@pytest.mark.parametrize(
    ("plain", "coded"),
    [
        (b"", ""), (b"f", "Zg=="), (b"fo", "Zm8="), (b"foo", "Zm9v"), (b"foob", "Zm9vYg=="),
        (b"fooba", "Zm9vYmE="), (b"foobar", "Zm9vYmFy"),
    ],
)  # fmt: skip
def test_base64_is_that_of_rfc_4648(tmp_path: Path, plain: bytes, coded: str) -> None:
    letter = Letter("s", TO, "t", "<p>t", attached(tmp_path, {"a.mp3": plain}))
    content = message_bytes(letter, date=DATE)
    *_, last, _ = content.split(b"--=_playalong_mixed")
    assert last.split(b"\r\n\r\n", 1)[1].strip() == coded.encode()
    assert encoded_bytes(len(plain)) == (len(coded) + 2 if coded else 0)


@pytest.mark.parametrize(
    ("size", "coded"),
    [(57, 78), (1_000_000, 1_368_424)],  # RFC 2045: 57 bytes make a line of 76 and CRLF; computed
)
def test_encoded_sizes_are_those_of_the_arithmetic(size: int, coded: int) -> None:
    assert encoded_bytes(size) == coded


@pytest.mark.parametrize(
    ("limit_bytes", "payload_bytes"),
    # limits that servers commonly have (common practice), times 57/78 (computed)
    [
        (10_000_000, 7_307_692),
        (20_000_000, 14_615_384),
        (25_000_000, 18_269_230),
        (25 * 2**20, 19_156_676),
    ],
)
def test_the_largest_payload_for_a_limit_is_57_parts_of_78(
    limit_bytes: int, payload_bytes: int
) -> None:
    assert limit_bytes * 57 // 78 == payload_bytes
    # The last line is shorter than 76 and still ends in CRLF: up to 4 bytes beyond the ratio.
    assert abs(encoded_bytes(payload_bytes) - limit_bytes) <= 4


FILES = st.dictionaries(
    st.from_regex(
        r"[\w☃ ()&'-]{1,40}\.(mp3|mid|pdf|wav|flac|opus|ogg|txt|zip|html)", fullmatch=True
    ),
    st.binary(max_size=3000),
    max_size=5,
)
WORDS = st.text(st.characters(exclude_categories=["Cc", "Cs", "Zl", "Zp"]), max_size=400)


@settings(max_examples=80)
@given(files=FILES, subject=WORDS, text=WORDS)
def test_both_readers_find_every_attachment_byte_for_byte_and_the_words(
    tmp_path_factory: pytest.TempPathFactory, files: dict[str, bytes], subject: str, text: str
) -> None:
    letter = Letter(
        subject, TO, text + "\n", f"<p>{text}\n", attached(tmp_path_factory.mktemp("a"), files)
    )
    content = message_bytes(letter, date=DATE)
    check_lines(content)
    assert len(content) <= predicted_bytes(letter, date=DATE) <= 1.01 * len(content)
    ours, theirs = python_reads(content), rust_reads(content)
    found = {part.get_filename(): part.get_payload(decode=True) for part in ours.iter_attachments()}
    assert found == files
    assert {each.filename: each.content for each in theirs.attachments} == files
    body = ours.get_body(("plain",))
    assert body is not None
    assert body.get_content().replace("\r\n", "\n") == text + "\n"
    assert theirs.text_plain[0].replace("\r\n", "\n") == text + "\n"
    assert len(theirs.text_html) == 1
    assert " ".join(theirs.subject.split()) == " ".join(subject.split())


def test_media_types_are_from_the_table_and_so_are_both_readers(tmp_path: Path) -> None:
    files = {f"übung{ending}": b"x" for ending in MEDIA_TYPES} | {"a.xyz": b"x"}
    content = message_bytes(Letter("s", TO, "t", "h", attached(tmp_path, files)), date=DATE)
    # MusicXML by the W3C's MusicXML documentation; audio/midi and audio/flac common practice
    expected = {
        "übung.mid": "audio/midi", "übung.mp3": "audio/mpeg", "übung.flac": "audio/flac",
        "übung.pdf": "application/pdf", "a.xyz": "application/octet-stream",
        "übung.musicxml": "application/vnd.recordare.musicxml+xml",
    }  # fmt: skip
    types = {
        p.get_filename(): p.get_content_type() for p in python_reads(content).iter_attachments()
    }
    assert expected.items() <= types.items()
    assert {each.filename: each.mimetype for each in rust_reads(content).attachments} == types
    charsets = {
        p.get_filename(): p.get_param("charset") for p in python_reads(content).iter_attachments()
    }
    assert charsets["übung.txt"] == charsets["übung.html"] == "utf-8"
    assert charsets["übung.mp3"] is None


def test_a_name_beyond_ascii_is_written_by_rfc_2231(tmp_path: Path) -> None:
    letter = Letter("s", TO, "t", "h", attached(tmp_path, {"übung.mp3": b"x"}))
    # the very spelling that the standard library was seen to write
    assert b"filename*=utf-8''%C3%BCbung.mp3" in message_bytes(letter, date=DATE)


def test_a_draft_is_marked_and_a_mail_to_send_has_what_rfc_5322_asks_for() -> None:
    sender = Address("Me", "me", "example.org")
    letter = Letter("s", TO, "t", "h", sender=sender)
    draft = python_reads(message_bytes(letter, date=DATE))
    sent = python_reads(message_bytes(letter, date=DATE, message_id="<1@example.org>"))
    assert draft["X-Unsent"] == "1"
    assert sent["X-Unsent"] is None
    assert {"From", "To", "Subject", "Date", "Message-ID", "MIME-Version"} <= set(sent.keys())
    for message in (draft, sent):  # each at most once, RFC 5322 section 3.6
        for name in ("From", "To", "Cc", "Subject", "Date", "Message-ID"):
            assert len(message.get_all(name, [])) <= 1


def test_equal_mails_are_equal_bytes(tmp_path: Path) -> None:
    letter = Letter("s", TO, "t", "h", attached(tmp_path, {"a.mp3": b"x" * 1000}))
    assert message_bytes(letter, date=DATE) == message_bytes(letter, date=DATE)


@pytest.mark.parametrize(
    "title", [NASTY, NASTY * 200, "x" * 10_000, "\u202eright to left", "=?q?="]
)
def test_a_nasty_title_or_name_is_inert_in_headers_plain_and_html(title: str) -> None:
    body = Body(title, ("listen", title), [], greeting=title)
    letter = Letter(title[:500], TO, body.plain(), body.html())
    content = message_bytes(letter, date=DATE)
    check_lines(content)
    mail = rust_reads(content)
    assert "<script" not in mail.text_html[0]
    assert set(mail.headers) == set(python_reads(content).keys())
    assert [each.address for each in mail.to] == ["pupil@example.org"]


@pytest.mark.parametrize("sign", ["\n", "\r\n", "\r", "\0", "\u2028"])
def test_a_line_break_in_a_subject_is_refused(sign: str) -> None:
    with pytest.raises(AddressError, match="the subject has a line break"):
        Letter(f"Tracks{sign}Bcc: other@example.org", TO, "t", "h")


def test_a_subject_beyond_500_characters_is_refused() -> None:
    said = f'the subject "{"x" * 39}…" has 501 characters; 500 is the most'
    with pytest.raises(AddressError, match=said):
        Letter("x" * 501, TO, "t", "h")
    assert Letter("x" * 500, TO, "t", "h").subject == "x" * 500
