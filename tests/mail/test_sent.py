"""Nothing is sent twice: what a server took is known, also where it took a part."""

from __future__ import annotations

import json
import os
import socket
from email.headerregistry import Address
from pathlib import Path

import pytest
from mailfolder import folder_of
from mailserver import PASSWORD, Taken, raw_server, smtp_server

from playalong.folder.files import ReadError, WriteError
from playalong.mail import sent as sent_module
from playalong.mail.compose import Mail, MailOptions, compose
from playalong.mail.contents import Choice, read_contents
from playalong.mail.send import SendError, send_mails
from playalong.mail.sent import Sent, SentError
from playalong.mail.settings import Server

SENDER = Address("Me", "me", "example.org")
BOTH = (Address("", "one", "example.org"), Address("", "two", "example.org"))


@pytest.fixture
def three(tmp_path: Path) -> tuple[Mail, ...]:
    """Three mails to two people."""
    out = folder_of(tmp_path / "set", [60_000] * 3)
    options = MailOptions(BOTH, 110_000, sender=SENDER, to_send=True)
    mails = compose(read_contents(out, Choice()), options).mails
    assert len(mails) == 3
    return mails


def server(port: int) -> Server:
    return Server("127.0.0.1", SENDER, "plain", port, timeout_seconds=5)


def each_got(taken: Taken) -> list[tuple[str, str]]:
    """Who got which mail, by the number in its subject."""
    got = []
    for recipients, content in zip(taken.recipients, taken.contents, strict=True):
        subject = content.split(b"Subject: ")[1].split(b"\r\n")[0].decode()
        got += [(recipient.partition("@")[0], subject[-7:-1]) for recipient in recipients]
    return got


EVERYTHING = [(who, f"{number} of 3") for number in (1, 2, 3) for who in ("one", "two")]


class RefusesOnce(Taken):
    """Refuses the second recipient of the second mail, the first time."""

    async def handle_RCPT(self, *words: object) -> str:  # type: ignore[override]  # noqa: N802
        address, refused = str(words[3]), "RCPT refused" in self.answers
        if address == "two@example.org" and len(self.contents) == 1 and not refused:
            self.answers["RCPT refused"] = "once"
            return "450 later"
        return await super().handle_RCPT(*words)  # type: ignore[arg-type]


def test_where_one_of_two_recipients_is_refused_each_gets_each_mail_once(
    tmp_path: Path, three: tuple[Mail, ...]
) -> None:
    taken = RefusesOnce()
    said = r"mail 2 of 3: sent, but not to all: two@example\.org \(450: later\)"
    with smtp_server(taken) as port:
        with pytest.raises(SendError, match=said):
            send_mails(three, server(port), Sent(tmp_path))
        assert ("two", "2 of 3") not in each_got(taken)
        send_mails(three, server(port), Sent(tmp_path))
        send_mails(three, server(port), Sent(tmp_path))
    assert sorted(each_got(taken)) == sorted(EVERYTHING)


def test_a_mail_refused_in_the_middle_is_sent_by_the_next_run_and_the_first_is_not(
    tmp_path: Path, three: tuple[Mail, ...]
) -> None:
    taken = Taken()
    with smtp_server(taken) as port:
        send_mails(three[:1], server(port), Sent(tmp_path))
        taken.answers["DATA"] = "451 later"
        with pytest.raises(SendError, match=r"mail 2 of 3: .*\(451: later\)"):
            send_mails(three, server(port), Sent(tmp_path))
        del taken.answers["DATA"]
        send_mails(three, server(port), Sent(tmp_path))
    assert each_got(taken) == EVERYTHING


def test_a_mail_that_has_changed_is_another_mail(tmp_path: Path) -> None:
    taken = Taken()
    with smtp_server(taken) as port:
        for number in (1, 2):
            out = folder_of(tmp_path / str(number), [1000 * number])
            options = MailOptions(BOTH, 110_000, sender=SENDER, to_send=True)
            mails = compose(read_contents(out, Choice()), options).mails
            send_mails(mails, server(port), Sent(tmp_path))
    assert len(taken.contents) == 2


def test_again_sends_to_everybody_and_a_refusal_then_forgets_nothing(
    tmp_path: Path, three: tuple[Mail, ...]
) -> None:
    taken = Taken()
    with smtp_server(taken) as port:
        send_mails(three, server(port), Sent(tmp_path))
        send_mails(three, server(port), Sent(tmp_path, again=True))
        assert each_got(taken) == EVERYTHING * 2
        taken.answers["DATA"] = "451 later"
        with pytest.raises(SendError, match="later"):
            send_mails(three, server(port), Sent(tmp_path, again=True))
        del taken.answers["DATA"]
        send_mails(three, server(port), Sent(tmp_path))
    assert each_got(taken) == EVERYTHING * 2


def test_what_is_kept_is_who_what_when_and_the_servers_answer(
    tmp_path: Path, three: tuple[Mail, ...]
) -> None:
    with smtp_server(Taken({"DATA": f"250 taken {PASSWORD}"})) as port:
        to = Server("127.0.0.1", SENDER, "plain", port, password=PASSWORD, timeout_seconds=5)
        send_mails(three[:1], to, Sent(tmp_path))
    text = (tmp_path / ".playalong" / "sent.json").read_text(encoding="utf-8")
    assert PASSWORD not in text
    data = json.loads(text)
    assert data["format"] == "playalong sent 1"
    assert [each["address"] for each in data["mails"]] == ["one@example.org", "two@example.org"]
    for each in data["mails"]:
        assert set(each) == {"address", "subject", "sha256", "time", "answer"}
        assert (each["subject"], each["answer"]) == ("A title (1 of 3)", "250 taken ***")


def takes_and_hangs_up(caller: socket.socket) -> None:
    """Reads a mail to its last dot, and is gone."""
    file = caller.makefile("rb")
    caller.sendall(b"220 hi\r\n")
    for line in file:
        if line.upper().startswith(b"DATA"):
            caller.sendall(b"354 go on\r\n")
            while file.readline() != b".\r\n":
                pass
            return
        caller.sendall(b"250 fine\r\n")


def hangs_up_before_the_end(caller: socket.socket) -> None:
    file = caller.makefile("rb")
    caller.sendall(b"220 hi\r\n")
    for line in file:
        if line.upper().startswith(b"DATA"):
            return
        caller.sendall(b"250 fine\r\n")


@pytest.mark.parametrize("again", [False, True])
def test_a_mail_that_may_have_arrived_is_not_sent_again_unless_asked(
    tmp_path: Path, three: tuple[Mail, ...], again: bool
) -> None:
    with raw_server(takes_and_hangs_up) as port, pytest.raises(SendError, match="may not have"):
        send_mails(three[:1], server(port), Sent(tmp_path))
    taken = Taken()
    with smtp_server(taken) as port:
        if again:
            send_mails(three[:1], server(port), Sent(tmp_path, again=True))
        else:
            with pytest.raises(
                SendError, match=r"one@example\.org, so it may have arrived.*--again"
            ):
                send_mails(three[:1], server(port), Sent(tmp_path))
    assert len(taken.contents) == again


def test_a_mail_that_was_lost_before_its_end_is_sent_by_the_next_run(
    tmp_path: Path, three: tuple[Mail, ...]
) -> None:
    with raw_server(hangs_up_before_the_end) as port, pytest.raises(SendError, match="was lost"):
        send_mails(three[:1], server(port), Sent(tmp_path))
    taken = Taken()
    with smtp_server(taken) as port:
        send_mails(three[:1], server(port), Sent(tmp_path))
    assert each_got(taken) == EVERYTHING[:2]


def test_where_nothing_can_be_written_down_nothing_is_sent(
    tmp_path: Path, three: tuple[Mail, ...], monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(path: Path, text: str) -> None:
        raise WriteError(f"cannot write {path}: no space left")

    monkeypatch.setattr(sent_module, "write_text", full)
    taken = Taken()
    with smtp_server(taken) as port, pytest.raises(WriteError, match="no space left"):
        send_mails(three, server(port), Sent(tmp_path))
    assert not taken.contents


BEGINNING = b'{"format": "playalong sent 1", "mails": '
WRONG_KIND = b'[{"address": 1, "subject": "", "sha256": "", "time": "", "answer": null}]}'


@pytest.mark.parametrize(
    "content",
    [b"", b"\xff", b"[]", b"{}", b'{"format": "playalong sent 1"}', b"[" * 100_000]
    + [BEGINNING + rest for rest in (b"1}", b"[1]}", b'[{"a": 1}]}', WRONG_KIND)],
    ids=range(10),
)
def test_a_damaged_list_of_what_was_sent_stops_the_sending(tmp_path: Path, content: bytes) -> None:
    (tmp_path / ".playalong").mkdir()
    (tmp_path / ".playalong" / "sent.json").write_bytes(content)
    with pytest.raises(SentError, match=r"sent\.json should say who .* move it away"):
        Sent(tmp_path)


def test_a_pipe_in_its_place_is_not_waited_for(tmp_path: Path) -> None:
    (tmp_path / ".playalong").mkdir()
    os.mkfifo(tmp_path / ".playalong" / "sent.json")
    with pytest.raises(ReadError, match=r"sent\.json is no file"):
        Sent(tmp_path)
