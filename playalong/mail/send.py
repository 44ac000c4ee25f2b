"""Sending: mails are handed to a server by SMTP (RFC 5321), and each way to fail has its words."""

from __future__ import annotations

import base64
import smtplib
import socket
import ssl
from collections.abc import Callable, Sequence
from contextlib import suppress
from functools import partial
from types import TracebackType
from typing import Self, TypeVar

from playalong.errors import PlayalongError
from playalong.mail.compose import Mail
from playalong.mail.discretion import discreet
from playalong.mail.parcels import megabytes
from playalong.mail.sent import Entry, Sent
from playalong.mail.settings import Server
from playalong.mail.wire import Line, Receipt, TlsLine

TOO_LARGE = (552, 523)  # RFC 1870 section 6.1, and what some servers say
T = TypeVar("T")


class SendError(PlayalongError):
    """A mail that was not sent, and what to look at."""


def send_mails(mails: Sequence[Mail], server: Server, sent: Sent | None = None) -> None:
    """Send in their order, to those who have not had them. The error says which did not go, and
    to whom; `sent` knows what did."""
    sent = sent or Sent()
    numbered = list(enumerate(mails, 1))
    faults = [(number, _unsure(entry)) for number, mail in numbered for entry in sent.unsure(mail)]
    waiting = [(number, mail) for number, mail in numbered if sent.waiting(mail)]
    if waiting:
        number = waiting[0][0]
        try:
            with Outbox(server) as outbox:
                for number, mail in waiting:
                    if refused := outbox.send(mail, sent):
                        faults.append((number, f"sent, but not to all: {refused}"))
        except SendError as error:
            faults.append((number, str(error)))
    if faults:
        many = len(mails) > 1
        raise SendError(
            "; ".join(
                f"mail {number} of {len(mails)}: {fault}" if many else fault
                for number, fault in faults
            )
        )


def _unsure(entry: Entry) -> str:
    return (
        f"the line broke at {entry.time} while the server took the mail to {entry.address}, so it "
        "may have arrived and is not sent again; ask, and add --again to send it to them anew"
    )


def check_login(server: Server) -> None:
    """Connect and log in, and send nothing: what is wrong shows before the work begins."""
    with Outbox(server):
        pass


class Outbox:
    """A server, connected and logged in, while the `with` lasts. Every failure is a SendError."""

    def __init__(self, server: Server) -> None:
        self.server = server
        self.where = f"{server.host}, port {server.port}"

    def __enter__(self) -> Self:
        self.smtp = self._attempt(self._connect)
        try:
            self._attempt(self._greet)
            self._attempt(self._log_in)
        except BaseException:
            self.smtp.close()
            raise
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.smtp.farewell()

    def send(self, mail: Mail, sent: Sent) -> str:
        """Hand over one mail to those who have not had it, and give back who was refused and
        why. Its recipients stand in the envelope only as often as in `sent.waiting`."""
        content = mail.content()
        self._check_size(len(content))

        def hand_over() -> Receipt:
            try:
                sender, to = self.server.sender.addr_spec, sent.waiting(mail)
                return self.smtp.hand_over(sender, to, content, partial(sent.begin, mail))
            except smtplib.SMTPResponseException as error:
                if error.smtp_code // 100 in (4, 5):  # else nobody knows
                    sent.refused(mail)
                raise

        receipt = self._attempt(hand_over)
        sent.answered(mail, receipt.accepted, self._clean(receipt.answer))
        return self._refused(receipt.refused)

    def _connect(self) -> Line:
        server = self.server
        if server.security == "tls":
            return TlsLine(server.host, server.port, server.timeout_seconds, context=self._trust())
        return Line(server.host, server.port, server.timeout_seconds)

    def _trust(self) -> ssl.SSLContext:
        context = ssl.create_default_context()
        if self.server.ca_file:
            try:
                context.load_verify_locations(self.server.ca_file)
            except ssl.SSLError:
                raise SendError(
                    f"{self.server.ca_file} holds no certificate in PEM form; see ca_file"
                ) from None
        return context

    def _greet(self) -> None:
        self.smtp.ehlo_or_helo_if_needed()
        if self.server.security == "starttls":
            if not self.smtp.has_extn("starttls"):
                raise SendError(
                    f"{self.where} offers no encryption (STARTTLS), so nothing was sent; try "
                    'security = "tls", or "plain" if you trust every computer on the way'
                )
            self.smtp.starttls(context=self._trust())
            self.smtp.ehlo()

    def _log_in(self) -> None:
        user, password = self.server.user, self.server.password
        if not user:
            return
        methods = self.smtp.esmtp_features.get("auth", "").upper().split()
        if not methods:
            raise SendError(
                f"{self.where} takes no login; leave user and password out of the settings, or "
                "check server, port and security"
            )
        if "PLAIN" in methods:  # by hand, since smtplib takes no letters beyond ASCII (RFC 4616)
            word = base64.b64encode(f"\0{user}\0{password}".encode()).decode("ascii")
            code, answer = self.smtp.docmd("AUTH", f"PLAIN {word}")
            if code not in (235, 503):  # 503: logged in already
                raise smtplib.SMTPAuthenticationError(code, answer)
        elif not (user + password).isascii():
            raise SendError(
                f"{self.where} has no way to log in with letters beyond ASCII; set another password"
            )
        else:
            self.smtp.login(user, password)

    def _check_size(self, size: int) -> None:
        """The server's own limit (RFC 1870), asked before the mail goes over the line."""
        with suppress(ValueError):
            most = int(self.smtp.esmtp_features.get("size", "0"))
            if 0 < most < size:
                limit = most // 10_000 / 100
                raise SendError(
                    f"the mail has {megabytes(size)}, and {self.server.host} takes "
                    f"{limit:g} MB at most; use --limit {limit:g}"
                )

    def _attempt(self, work: Callable[[], T]) -> T:
        """Do the work; what goes wrong is a SendError in words. It is raised outside the handler,
        so that nothing of the first error hangs on it, which may hold what a server repeated."""
        try:
            return work()
        except (OSError, smtplib.SMTPException, ValueError) as error:
            message = self._explained(error)
        raise SendError(message)

    def _explained(self, error: Exception) -> str:
        server, where = self.server, self.where
        match error:
            case smtplib.SMTPAuthenticationError():
                return (
                    f"{server.host} refused the login of {server.user}{self._says(error)}; check "
                    "user and password (many servers want a password made for programs)"
                )
            case smtplib.SMTPSenderRefused() if error.smtp_code in TOO_LARGE:
                return self._too_large(error)
            case smtplib.SMTPSenderRefused():
                return (
                    f"{server.host} refused the sender {server.sender.addr_spec}"
                    f"{self._says(error)}; check from"
                )
            case smtplib.SMTPRecipientsRefused():
                return f"{server.host} refused every recipient: {self._refused(error.recipients)}"
            case smtplib.SMTPDataError() if error.smtp_code in TOO_LARGE:
                return self._too_large(error)
            case smtplib.SMTPServerDisconnected() if isinstance(error.__context__, TimeoutError):
                return self._explained(error.__context__)
            case smtplib.SMTPServerDisconnected():
                return f"the connection to {where} was lost; the mail may not have arrived"
            case smtplib.SMTPResponseException():
                return f"{server.host} did not take the mail{self._says(error)}"
            case UnicodeError():
                return f'"{server.host}" is not the name of a server'
            case smtplib.SMTPException():
                return self._no_smtp()
            case socket.gaierror():
                return f"the server {server.host} cannot be found; check its name, and the network"
            case TimeoutError():
                return (
                    f"{where} did not answer within {server.timeout_seconds:g} seconds; check the "
                    "port and security, or set timeout_seconds higher"
                )
            case ConnectionRefusedError():
                return f"{where} refused the connection; check the port, and that the server runs"
            case ssl.SSLCertVerificationError():
                why = self._clean(error.verify_message or "it cannot be checked")
                return (
                    f"the certificate of {where} is not trusted: {why}; check the server's name, "
                    "or set ca_file to its certificate"
                )
            case ssl.SSLError():
                return (
                    f"{where} does not speak TLS as asked; check port and security "
                    "(usually tls on 465, starttls on 587)"
                )
            case ValueError():  # what smtplib stumbles over
                return self._no_smtp()
            case ConnectionError():
                return f"the connection to {where} was lost; the mail may not have arrived"
            case _:
                return f"{where} cannot be reached: {self._clean(str(error))}"

    def _no_smtp(self) -> str:
        return f"{self.where} does not speak SMTP as it should; check server and port"

    def _too_large(self, error: smtplib.SMTPResponseException) -> str:
        return (
            f"the mail is too large for {self.server.host}{self._says(error)}; use a lower --limit"
        )

    def _says(self, error: smtplib.SMTPResponseException) -> str:
        return f" ({error.smtp_code}: {self._clean(error.smtp_error)})"

    def _refused(self, refused: dict[str, tuple[int, bytes]]) -> str:
        return "; ".join(
            f"{address} ({code}: {self._clean(answer)})"
            for address, (code, answer) in refused.items()
        )

    def _clean(self, answer: bytes | str) -> str:
        return discreet(answer, self.server.user, self.server.password)
