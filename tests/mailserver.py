"""Real SMTP servers for tests, on free ports, with certificates made on the spot."""

from __future__ import annotations

import socket
import ssl
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from typing import Any

import trustme
from aiosmtpd.controller import Controller
from aiosmtpd.smtp import AuthResult, LoginPassword

USER, PASSWORD = "me@example.org", "höchst-geheim-42"


@dataclass
class Taken:
    """What a server was handed: envelope and bytes of every mail. `answers` are said instead
    of taking it, by SMTP command."""

    answers: dict[str, str] = field(default_factory=dict)
    recipients: list[list[str]] = field(default_factory=list)
    contents: list[bytes] = field(default_factory=list)

    async def handle_MAIL(  # noqa: N802
        self, server: Any, session: Any, envelope: Any, address: str, options: list[str]
    ) -> str:
        envelope.mail_from = address
        return self.answers.get("MAIL", "250 fine")

    async def handle_RCPT(  # noqa: N802
        self, server: Any, session: Any, envelope: Any, address: str, options: list[str]
    ) -> str:
        answer = self.answers.get(f"RCPT {address}", self.answers.get("RCPT", "250 fine"))
        if answer.startswith("250"):
            envelope.rcpt_tos.append(address)
        return answer

    async def handle_DATA(self, server: Any, session: Any, envelope: Any) -> str:  # noqa: N802
        answer = self.answers.get("DATA", "250 fine")
        if answer.startswith("250"):
            self.recipients.append(list(envelope.rcpt_tos))
            self.contents.append(envelope.original_content)
        return answer


@dataclass(frozen=True)
class Authority:
    """A certificate authority of the test's own, and a server's certificate by it."""

    authority: trustme.CA = field(default_factory=trustme.CA)

    def context(self, *names: str) -> ssl.SSLContext:
        context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
        self.authority.issue_cert(*(names or ("127.0.0.1",))).configure_cert(context)
        return context


def check_login(server: Any, session: Any, envelope: Any, mechanism: str, data: Any) -> AuthResult:
    assert isinstance(data, LoginPassword)
    right = data.login == USER.encode() and data.password == PASSWORD.encode()
    return AuthResult(success=right, handled=right)


@contextmanager
def smtp_server(
    taken: Taken,
    *,
    starttls: ssl.SSLContext | None = None,
    tls: ssl.SSLContext | None = None,
    login: bool = False,
    size_limit: int | None = None,
) -> Iterator[int]:
    """aiosmtpd with what is asked for; yields its port."""
    words: dict[str, Any] = {"data_size_limit": size_limit}
    if starttls:
        words |= {"tls_context": starttls, "require_starttls": True}
    if login:
        words |= {"authenticator": check_login, "auth_required": True}
        words |= {"auth_require_tls": bool(starttls)}
    controller = Controller(taken, "127.0.0.1", free_port(), ssl_context=tls, **words)
    controller.start()
    try:
        yield controller.port
    finally:
        controller.stop()


@contextmanager
def raw_server(talk: Callable[[socket.socket], None]) -> Iterator[int]:
    """A server that says what `talk` says to its one caller, right or wrong."""
    with socket.create_server(("127.0.0.1", 0)) as listener:

        def serve() -> None:
            caller, _ = listener.accept()
            with caller:
                talk(caller)

        thread = threading.Thread(target=serve)
        thread.start()
        try:
            yield listener.getsockname()[1]
        finally:
            thread.join(5)


def free_port() -> int:
    with socket.create_server(("127.0.0.1", 0)) as listener:
        return int(listener.getsockname()[1])
