"""A server that does not end, or says too much: one deadline, a bound on what is read."""

from __future__ import annotations

import socket
import time
from collections.abc import Callable
from contextlib import suppress
from email.headerregistry import Address

import pytest
from mailserver import raw_server

from playalong.mail.send import SendError, check_login
from playalong.mail.settings import Server

SENDER = Address("Me", "me", "example.org")
PATIENCE = 1.0  # seconds


def dripping(caller: socket.socket, text: bytes) -> None:
    """A byte now and then, each well within the time that an answer may take."""
    with suppress(OSError):
        for byte in text:
            caller.sendall(bytes([byte]))
            time.sleep(0.2)


def drip_greeting(caller: socket.socket) -> None:
    dripping(caller, b"220 " + b"x" * 80)


def drip_features(caller: socket.socket) -> None:
    caller.sendall(b"220 hi\r\n")
    caller.recv(1000)
    dripping(caller, b"250-hi\r\n" * 10)


def greet_for_ever(caller: socket.socket) -> None:
    with suppress(OSError):
        for _ in range(1_000_000):
            caller.sendall(b"220-still greeting\r\n" * 1000)


def one_line_for_ever(caller: socket.socket) -> None:
    with suppress(OSError):
        for _ in range(1_000_000):
            caller.sendall(b"x" * 20_000)


@pytest.mark.parametrize(
    ("talk", "said"),
    [
        (drip_greeting, "did not answer within 1 seconds"),
        (drip_features, "did not answer within 1 seconds"),
        (greet_for_ever, "does not speak SMTP as it should"),
        (one_line_for_ever, "does not speak SMTP as it should"),
    ],
)
def test_a_server_that_does_not_end_is_left(
    talk: Callable[[socket.socket], None], said: str
) -> None:
    with raw_server(talk) as port:
        began = time.monotonic()
        with pytest.raises(SendError, match=said):
            check_login(Server("127.0.0.1", SENDER, "plain", port, timeout_seconds=PATIENCE))
        took_seconds = time.monotonic() - began
    # A deadline is a promise about the clock; the rest is for a busy machine.
    assert took_seconds < PATIENCE + 5


def test_an_answer_that_smtp_does_not_know_is_told() -> None:
    def talk(caller: socket.socket) -> None:
        caller.sendall(b"220 hi\r\n")
        caller.recv(1000)
        caller.sendall(b"250-hi\r\n250 AUTH CRAM-MD5\r\n")
        caller.recv(1000)
        caller.sendall(b"334 no-base64-at-all!\r\n")
        caller.recv(1000)

    said = "does not speak SMTP as it should|refused the login"
    who = {"user": "me", "password": "secret-word"}
    with raw_server(talk) as port, pytest.raises(SendError, match=said):
        check_login(Server("127.0.0.1", SENDER, "plain", port, timeout_seconds=2, **who))
