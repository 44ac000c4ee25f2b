"""Handing over to a real SMTP server, with and without TLS, and each way that it can fail."""

from __future__ import annotations

import base64
import io
import socket
import traceback
from collections.abc import Callable
from contextlib import redirect_stderr, redirect_stdout
from email.headerregistry import Address
from pathlib import Path
from typing import Any

import pytest
from mailfolder import TO, folder_of
from mailserver import PASSWORD, USER, Authority, Taken, free_port, raw_server, smtp_server

from playalong.mail.compose import Mail, MailOptions, compose
from playalong.mail.contents import Choice, read_contents
from playalong.mail.send import SendError, check_login, send_mails
from playalong.mail.settings import Server

SENDER = Address("Me", "me", "example.org")
SAME_PASSWORD = (
    PASSWORD,
    base64.b64encode(PASSWORD.encode()).decode(),
    base64.b64encode(f"\0{USER}\0{PASSWORD}".encode()).decode(),
)


@pytest.fixture(scope="module")
def authority() -> Authority:
    return Authority()


@pytest.fixture(scope="module")
def ca_file(authority: Authority, tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("ca") / "ca.pem"
    authority.authority.cert_pem.write_to_path(str(path))
    return path


@pytest.fixture(scope="module")
def mails(tmp_path_factory: pytest.TempPathFactory) -> tuple[Mail, ...]:
    out = folder_of(tmp_path_factory.mktemp("set"), [20_000])
    both = (*TO, Address("", "second", "example.org"))
    options = MailOptions(both, 1_000_000, sender=SENDER, to_send=True)
    return compose(read_contents(out, Choice()), options).mails


def plain_server(port: int, **more: Any) -> Server:
    return Server("127.0.0.1", SENDER, "plain", port, timeout_seconds=5, **more)


def secret_is_nowhere(error: BaseException) -> None:
    """Not in the text, the arguments, the chain, nor in what a traceback prints."""
    printed = "".join(traceback.format_exception(error))
    while error:
        printed += repr(error.args) + repr(vars(error))
        error = error.__cause__ or error.__context__  # type: ignore[assignment]
    for secret in SAME_PASSWORD:
        assert secret not in printed


@pytest.mark.filterwarnings("ignore:Requiring AUTH while not requiring TLS")  # the server's own
@pytest.mark.parametrize("security", ["plain", "starttls", "tls"])
@pytest.mark.parametrize("login", [False, True])
def test_a_mail_arrives_byte_for_byte(
    authority: Authority, ca_file: Path, mails: tuple[Mail, ...], security: str, login: bool
) -> None:
    taken, context = Taken(), authority.context()
    how = {"tls": {"tls": context}, "starttls": {"starttls": context}, "plain": {}}[security]
    who = {"user": USER, "password": PASSWORD} if login else {}
    with smtp_server(taken, login=login, **how) as port:
        server = Server("127.0.0.1", SENDER, security, port, ca_file=ca_file, **who)
        check_login(server)
        send_mails(mails, server)
    assert taken.contents == [mails[0].content()]
    assert taken.recipients == [["pupil@example.org", "second@example.org"]]
    assert b"X-Unsent" not in taken.contents[0]


def test_the_password_is_in_no_output_and_no_repr(
    authority: Authority, ca_file: Path, mails: tuple[Mail, ...]
) -> None:
    output = io.StringIO()
    with (
        redirect_stdout(output),
        redirect_stderr(output),
        smtp_server(Taken(), starttls=authority.context(), login=True) as port,
    ):
        server = Server(
            "127.0.0.1", SENDER, "starttls", port, USER, PASSWORD, ca_file=ca_file
        )  # fmt: skip
        send_mails(mails, server)
        print(server, repr(server))
    assert not [secret for secret in SAME_PASSWORD if secret in output.getvalue()]


def test_a_refused_login_says_whose_and_never_the_password(
    authority: Authority, ca_file: Path
) -> None:
    with smtp_server(Taken(), starttls=authority.context(), login=True) as port:
        server = Server(
            "127.0.0.1", SENDER, "starttls", port, USER, PASSWORD + "x", ca_file=ca_file
        )
        with pytest.raises(
            SendError, match=r"refused the login of me@example\.org \(535: .*check user and"
        ) as error:
            check_login(server)
    secret_is_nowhere(error.value)


def test_a_server_that_repeats_the_password_is_not_quoted_with_it() -> None:
    plain = base64.b64encode(f"\0{USER}\0{PASSWORD}".encode()).decode()

    def talk(caller: socket.socket) -> None:
        caller.sendall(b"220 hi\r\n")
        caller.recv(1000)
        caller.sendall(b"250-hi\r\n250 AUTH PLAIN\r\n")
        caller.recv(1000)
        caller.sendall(f"535 wrong: {PASSWORD} {plain}\r\n".encode())
        caller.recv(1000)

    said = r"535: wrong: \*\*\* \*\*\*\)"
    with raw_server(talk) as port, pytest.raises(SendError, match=said) as error:
        check_login(plain_server(port, user=USER, password=PASSWORD))
    secret_is_nowhere(error.value)


def test_a_server_that_knows_the_caller_already_is_logged_in() -> None:
    def talk(caller: socket.socket) -> None:
        caller.sendall(b"220 hi\r\n")
        for answer in (b"250-hi\r\n250 AUTH PLAIN\r\n", b"503 already\r\n", b"221 bye\r\n"):
            caller.recv(1000)
            caller.sendall(answer)

    with raw_server(talk) as port:
        check_login(plain_server(port, user=USER, password=PASSWORD))


def test_a_server_that_is_down_refuses_the_connection() -> None:
    with pytest.raises(SendError, match="refused the connection; check the port"):
        check_login(plain_server(free_port()))


def test_a_server_that_does_not_exist_cannot_be_found(monkeypatch: pytest.MonkeyPatch) -> None:
    def nobody(*_: object, **__: object) -> None:
        raise socket.gaierror(socket.EAI_NONAME, "Name or service not known")

    monkeypatch.setattr(socket, "getaddrinfo", nobody)
    with pytest.raises(SendError, match=r"mail\.example\.org cannot be found; check its name"):
        check_login(Server("mail.example.org", SENDER))


def test_a_host_name_that_is_none_is_told() -> None:
    with pytest.raises(SendError, match="is not the name of a server"):
        check_login(Server("a" * 70 + ".example.org", SENDER))


def test_without_tls_on_offer_nothing_is_sent(mails: tuple[Mail, ...]) -> None:
    taken = Taken()
    with smtp_server(taken) as port:
        server = Server("127.0.0.1", SENDER, "starttls", port, USER, PASSWORD)
        with pytest.raises(SendError, match=r"offers no encryption \(STARTTLS\), so nothing was"):
            send_mails(mails, server)
    assert not taken.contents


@pytest.mark.parametrize("security", ["starttls", "tls"])
def test_a_certificate_by_an_unknown_authority_is_not_trusted(
    authority: Authority, security: str
) -> None:
    how = {security: authority.context()}
    with smtp_server(Taken(), **how) as port:  # type: ignore[arg-type]
        server = Server("127.0.0.1", SENDER, security, port, USER, PASSWORD)
        with pytest.raises(SendError, match=r"certificate of .* is not trusted: .*ca_file"):
            check_login(server)


def test_a_certificate_for_another_name_is_not_trusted(authority: Authority, ca_file: Path) -> None:
    with smtp_server(Taken(), tls=authority.context("mail.example.org")) as port:
        server = Server("127.0.0.1", SENDER, "tls", port, ca_file=ca_file)
        with pytest.raises(SendError, match=r"not trusted: IP address mismatch.*server's name"):
            check_login(server)


def test_a_ca_file_without_certificates_is_told(tmp_path: Path, authority: Authority) -> None:
    (tmp_path / "ca.pem").write_text("nothing")
    with smtp_server(Taken(), tls=authority.context()) as port:
        server = Server("127.0.0.1", SENDER, "tls", port, ca_file=tmp_path / "ca.pem")
        with pytest.raises(SendError, match="holds no certificate in PEM form"):
            check_login(server)


def test_tls_on_a_port_that_speaks_plain_is_told() -> None:
    said = "does not speak TLS as asked; check port and security"
    with smtp_server(Taken()) as port, pytest.raises(SendError, match=said):
        check_login(Server("127.0.0.1", SENDER, "tls", port, timeout_seconds=5))


def test_a_login_where_none_is_taken_is_told() -> None:
    said = "takes no login; leave user and password out"
    with smtp_server(Taken()) as port, pytest.raises(SendError, match=said):
        check_login(plain_server(port, user=USER, password=PASSWORD))


@pytest.mark.parametrize(
    ("answers", "said"),
    [
        ({"MAIL": "550 not you"}, r"refused the sender me@example\.org \(550: not you\)"),
        ({"MAIL": "523 too big"}, r"too large for 127\.0\.0\.1 \(523: too big\); use a lower"),
        ({"MAIL": "552 too big"}, r"too large for 127\.0\.0\.1 \(552: too big\); use a lower"),
        ({"RCPT": "550 unknown"}, r"refused every recipient: pupil@example\.org \(550: unknown\)"),
        ({"RCPT second@example.org": "550 no"}, r"sent, but not to all: second@example\.org"),
        ({"DATA": "552 too big"}, r"too large for 127\.0\.0\.1 \(552: too big\); use a lower"),
        ({"DATA": "554 spam \x07"}, r"did not take the mail \(554: spam\)"),
        ({"DATA": "451 later"}, r"did not take the mail \(451: later\)"),
    ],
    ids=str,
)
def test_what_a_server_refuses_is_told_in_its_words(
    mails: tuple[Mail, ...], answers: dict[str, str], said: str
) -> None:
    with smtp_server(Taken(answers)) as port, pytest.raises(SendError, match=said) as error:
        send_mails(mails, plain_server(port))
    assert "mail 1 of 1" not in str(error.value)


def test_a_mail_beyond_the_servers_announced_size_is_not_sent(mails: tuple[Mail, ...]) -> None:
    taken = Taken()
    said = r"takes 0\.02 MB at most; use --limit 0\.02"
    with smtp_server(taken, size_limit=29_999) as port, pytest.raises(SendError, match=said):
        send_mails(mails, plain_server(port))
    assert not taken.contents


def hang_up(caller: socket.socket) -> None:
    caller.sendall(b"220 hi\r\n")
    caller.recv(1000)
    caller.sendall(b"250 hi\r\n")
    caller.recv(1000)


def nothing(caller: socket.socket) -> None:
    caller.recv(1000)


def nonsense(caller: socket.socket) -> None:
    caller.sendall(b"HTTP/1.1 400 Bad Request\r\n\r\n")
    caller.recv(1000)


@pytest.mark.parametrize(
    ("talk", "said"),
    [
        (hang_up, "was lost; the mail may not have arrived"),
        (nothing, r"did not answer within 0\.5 seconds; check the port and security"),
        (nonsense, "check server and port|was lost|did not take"),
    ],
    ids=["hangs up", "says nothing", "says nonsense"],
)
def test_a_connection_that_goes_wrong_is_told(
    mails: tuple[Mail, ...], talk: Callable[[socket.socket], None], said: str
) -> None:
    with raw_server(talk) as port:
        server = Server("127.0.0.1", SENDER, "plain", port, timeout_seconds=0.5)
        with pytest.raises(SendError, match=said):
            send_mails(mails, server)


def test_of_several_mails_the_error_says_which_was_not_sent(tmp_path: Path) -> None:
    out = folder_of(tmp_path, [60_000, 60_000])
    options = MailOptions(TO, sender=SENDER, limit_bytes=110_000, to_send=True)
    mails = compose(read_contents(out, Choice()), options).mails
    said = r"mail 1 of 2: .*451: later"
    with smtp_server(Taken({"DATA": "451 later"})) as port, pytest.raises(SendError, match=said):
        send_mails(mails, plain_server(port))


@pytest.mark.parametrize(("length", "quoted"), [(200, 200), (201, 200)])
def test_a_servers_words_are_quoted_up_to_200_characters(
    mails: tuple[Mail, ...], length: int, quoted: int
) -> None:
    said = rf"did not take the mail \(554: x{{{quoted}}}\)"
    taken = Taken({"DATA": "554 " + "x" * length})
    with smtp_server(taken) as port, pytest.raises(SendError, match=said):
        send_mails(mails, plain_server(port))


@pytest.mark.parametrize("spare", [0, -1])
def test_a_mail_of_just_the_servers_announced_size_is_sent(
    mails: tuple[Mail, ...], spare: int
) -> None:
    taken = Taken()
    with smtp_server(taken, size_limit=len(mails[0].content()) + spare) as port:
        if spare < 0:
            with pytest.raises(SendError, match="use --limit"):
                send_mails(mails, plain_server(port))
        else:
            send_mails(mails, plain_server(port))
    assert len(taken.contents) == 1 + spare
