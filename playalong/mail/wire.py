"""The line to a mail server: SMTP (RFC 5321) with a deadline for a whole exchange and a bound on
what is read.

`smtplib` waits as long as a server says a byte now and then, and keeps all that it says. It also
does not tell the moment at which a mail may be taken: from the dot that ends it until the answer,
nobody but the server knows.
"""

from __future__ import annotations

import re
import smtplib
import socket
import ssl
from collections.abc import Callable, Sequence
from contextlib import suppress
from dataclasses import dataclass
from time import monotonic
from typing import Any

SLOWEST_BYTES_PER_SECOND = 16_000  # of a line over which mails of some MB can still be sent
MOST_ANSWER_BYTES = 64_000  # of one answer, with all its lines
FAREWELL_SECONDS = 5.0
PIECE_BYTES = 16_384
GREETING = "[127.0.0.1]"  # this computer's own name is nobody's business


class AnswerTooLongError(ValueError):
    """A server that does not end. No OSError, which smtplib takes for a lost connection."""


@dataclass(frozen=True)
class Receipt:
    """What a server said to a mail: who it takes it for, in which words, and who it does not."""

    accepted: tuple[str, ...]
    answer: str
    refused: dict[str, tuple[int, bytes]]


class Line(smtplib.SMTP):
    """A connection whose exchanges each have an end: begin one with `allow`."""

    def __init__(self, host: str, port: int, patience_seconds: float, **more: Any) -> None:
        self.patience_seconds = patience_seconds
        self.allow()
        super().__init__(host, port, GREETING, timeout=patience_seconds, **more)

    def allow(self, size_bytes: int = 0) -> None:
        """From now on, one patience and the time that so many bytes take on a slow line."""
        self.deadline = monotonic() + self.patience_seconds + size_bytes / SLOWEST_BYTES_PER_SECOND

    def getreply(self) -> tuple[int, bytes]:
        if self.file is None:
            self.file = _Answers(self)
        self.file.left_bytes = MOST_ANSWER_BYTES
        return super().getreply()

    def send(self, s: Any) -> None:
        """In pieces, each of which looks at the clock."""
        content = s.encode(self.command_encoding) if isinstance(s, str) else s
        for start in range(0, len(content), PIECE_BYTES):
            if self.sock:
                try:
                    hurry(self.sock, self.deadline)
                except TimeoutError:
                    self.close()
                    raise
            super().send(content[start : start + PIECE_BYTES])

    def hand_over(
        self,
        sender: str,
        recipients: Sequence[str],
        content: bytes,
        before_the_end: Callable[[Sequence[str]], None],
    ) -> Receipt:
        """One mail, as `sendmail` does it. `before_the_end` gets those who are to have it, at the
        last moment at which nobody can."""
        self.allow(len(content))
        size = [f"size={len(content)}"] if self.has_extn("size") else []
        code, answer = self.mail(sender, size)
        if code != 250:
            self.start_anew(code)
            raise smtplib.SMTPSenderRefused(code, answer, sender)
        refused = {}
        for recipient in recipients:
            code, answer = self.rcpt(recipient)
            if code not in (250, 251):
                refused[recipient] = (code, answer)
            if code == 421:
                break
        accepted = tuple(each for each in recipients if each not in refused)
        if not accepted or code == 421:
            self.start_anew(code)
            raise smtplib.SMTPRecipientsRefused(refused)
        code, answer = self.docmd("DATA")
        if code != 354:
            self.start_anew(code)
            raise smtplib.SMTPDataError(code, answer)
        self.send(re.sub(rb"(?m)^\.", b"..", content))  # RFC 5321 section 4.5.2
        try:
            before_the_end(accepted)
        except BaseException:
            self.close()  # before a word that would be part of the mail
            raise
        self.send(b".\r\n")
        code, answer = self.getreply()
        if code // 100 != 2:
            self.start_anew(code)
            raise smtplib.SMTPDataError(code, answer)
        return Receipt(accepted, f"{code} {answer.decode('utf-8', 'replace')}", refused)

    def start_anew(self, code: int) -> None:
        """After a refusal, which is what is told; 421 is the server's good-bye."""
        with suppress(OSError, smtplib.SMTPException):
            if code == 421:
                self.close()
            else:
                self.rset()

    def farewell(self) -> None:
        self.deadline = monotonic() + min(self.patience_seconds, FAREWELL_SECONDS)
        with suppress(OSError, smtplib.SMTPException):
            self.quit()
        self.close()


class TlsLine(Line, smtplib.SMTP_SSL):
    """The same, encrypted from the first byte."""


class _Answers:
    """What a server says, read with an eye on the clock and on the length."""

    def __init__(self, line: Line) -> None:
        assert line.sock  # there is no answer without a connection
        self.line, self.sock = line, line.sock
        self.waiting = b""
        self.left_bytes = MOST_ANSWER_BYTES

    def readline(self, most_bytes: int) -> bytes:
        while b"\n" not in self.waiting and len(self.waiting) < most_bytes:
            hurry(self.sock, self.line.deadline)
            more = self.sock.recv(PIECE_BYTES)
            if not more:
                break
            self.waiting += more
        end = self.waiting.find(b"\n") + 1 or len(self.waiting)
        found, self.waiting = self.waiting[: min(end, most_bytes)], self.waiting[end:]
        self.left_bytes -= len(found)
        if self.left_bytes < 0 or len(found) == most_bytes:
            self.line.close()
            raise AnswerTooLongError
        return found

    def close(self) -> None:
        """Nothing is held beside the connection, which closes by itself."""


def hurry(sock: socket.socket | ssl.SSLSocket, deadline: float) -> None:
    """Let the socket wait until the deadline at most; TimeoutError if that is past."""
    left_seconds = deadline - monotonic()
    if left_seconds <= 0:
        raise TimeoutError
    sock.settimeout(left_seconds)
