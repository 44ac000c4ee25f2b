"""A server's words: never the password, in whatever form it repeats it, and nothing that steers."""

from __future__ import annotations

import base64

import pytest
from mailserver import PASSWORD, USER

from playalong.mail.discretion import NOT_SHOWN, discreet

SECRET = PASSWORD.encode()


@pytest.mark.parametrize(
    "said",
    [
        SECRET.hex(),
        SECRET.hex().upper(),
        SECRET.hex(":"),
        "".join(f"\\x{byte:02x}" for byte in SECRET),
        "".join(f"%{byte:02X}" for byte in SECRET),
        " ".join(f"0x{byte:02x}" for byte in SECRET),
        *(base64.b64encode(b"!" * shift + SECRET + b"?" * 7).decode() for shift in range(1, 5)),
        base64.urlsafe_b64encode(b"user " + SECRET).decode(),
        base64.b64encode(SECRET).decode()[2:-3],
        PASSWORD[::-1],
        PASSWORD.upper(),
        " ".join(PASSWORD),
        PASSWORD[:-1],
        SECRET.hex()[4:30],
        PASSWORD.encode("utf-16-le").hex(),
    ],
)
def test_a_password_in_another_form_is_not_shown(said: str) -> None:
    answer = discreet(f"535 wrong {said} sorry", USER, PASSWORD)
    assert answer == NOT_SHOWN


@pytest.mark.parametrize("password", ["secret", "pass", "a", "correct horse battery staple"])
def test_what_a_server_says_of_itself_is_shown(password: str) -> None:
    said = "5.7.8 Authentication failed: see https://mail.example.org/?p=BadLogin qk5-2eA9"
    assert discreet(said, USER, password).replace("***", password) == said


def test_nothing_in_it_steers_a_terminal() -> None:
    said = discreet(
        b"no \x1b[2J\x9b31m \xc2\x9b \xe2\x80\xae\xe2\x80\xa8 way\r\n\x07", USER, PASSWORD
    )
    assert said == "no [2J\ufffd31m way"
