"""The mail server, from a settings file, the environment, or both; the environment goes first.

The password is kept out of every text that could be shown: no `repr`, no message, no exception
holds it, and what a server answers is cleaned of it.
"""

from __future__ import annotations

import os
import re
import stat
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from email.headerregistry import Address
from pathlib import Path
from typing import Any

from playalong.errors import nearest, short
from playalong.mail.address import AddressError, parse_address
from playalong.settings import SettingsError, SettingsFile, settings_folder

FILE_NAME = "mail.toml"
PREFIX = "PLAYALONG_MAIL_"
SECURITIES = {"starttls": 587, "tls": 465, "plain": 25}  # with the port where none is set
LONGEST_TIMEOUT_SECONDS = 600
EXAMPLE = """\
server   = "mail.example.org"
security = "starttls"          # or "tls"; "plain" sends everything readable
user     = "me@example.org"
password = "…"                 # or in the environment as PLAYALONG_MAIL_PASSWORD
from     = "My Name <me@example.org>"
"""


@dataclass(frozen=True)
class Server:
    """Where mail is handed over, and as whom."""

    host: str
    sender: Address
    security: str = "starttls"
    port: int = SECURITIES["starttls"]
    user: str = ""
    password: str = field(default="", repr=False)
    timeout_seconds: float = 30.0
    ca_file: Path | None = None  # further certificates to trust

    def __post_init__(self) -> None:
        for name, value in (
            ("server", self.host),
            ("security", self.security),
            ("port", self.port),
        ):
            _checked(name, value, name)


@dataclass(frozen=True)
class ServerSetting:
    """One setting: what it may be, in words, and how its value is checked and changed."""

    words: str
    check: Callable[[Any], Any]  # raises ValueError or TypeError for what it may not be
    secret: bool = False


def read_server(
    path: Path | None = None,
    environment: Mapping[str, str] = os.environ,
    sender: Address | None = None,
) -> Server:
    """The server to send by. `sender` stands before the one in the settings.

    Raises SettingsError that names the file or variable, the setting and what it may be.
    """
    file = path or settings_path()
    values = _from_file(SettingsFile.read(file, asked=path is not None))
    values |= _from_environment(environment)
    if sender:
        values["from"] = sender
    for needed in ("server", "from"):
        if needed not in values:
            raise SettingsError(
                f'no "{needed}" is set; write {file} like this, or set '
                f"{PREFIX}{needed.upper()}:\n{EXAMPLE}".rstrip()
            )
    if bool(values.get("user")) != bool(values.get("password")):
        there, lacks = ("user", "password") if values.get("user") else ("password", "user")
        raise SettingsError(
            f"a {there} is set and no {lacks}; set both, in {file} or as {PREFIX}{lacks.upper()}"
        )
    host, sender = values.pop("server"), values.pop("from")
    port = SECURITIES[values.get("security", Server.security)]
    return Server(host, sender, **{"port": port, **values})


def settings_path() -> Path:
    """`mail.toml` in the settings folder."""
    return settings_folder() / FILE_NAME


def open_to_others(path: Path | None) -> str | None:
    """A warning where a settings file with a password can be read by other users."""
    file = path or settings_path()
    if os.name != "posix" or not file.is_file():
        return None
    with file.open("rb") as opened:
        readable = file.stat().st_mode & (stat.S_IRGRP | stat.S_IROTH)
        if not readable or b"password" not in opened.read():
            return None
    return f"others on this computer can read the password in {file}; chmod 600 {file}"


def _from_file(file: SettingsFile) -> dict[str, Any]:
    return {
        name: _checked(name, value, f"{file.place(name)}: {short(name)}")
        for name, value in file.values.items()
    }


def _from_environment(environment: Mapping[str, str]) -> dict[str, Any]:
    found = {
        name: environment[PREFIX + name.upper()]
        for name in SERVER_SETTINGS
        if environment.get(PREFIX + name.upper())
    }
    return {name: _checked(name, value, PREFIX + name.upper()) for name, value in found.items()}


def _checked(name: str, value: Any, where: str) -> Any:
    if name not in SERVER_SETTINGS:
        raise SettingsError(f"{where} is no setting{nearest(name, SERVER_SETTINGS)}")
    setting = SERVER_SETTINGS[name]
    try:
        return setting.check(value)
    except AddressError as error:
        raise SettingsError(f"{where}: {error}") from None
    except (ValueError, TypeError):
        shown = "its value" if setting.secret else short(repr(value))
        raise SettingsError(f"{where}: {shown} is not {setting.words}") from None


def _text(value: Any) -> str:
    if not isinstance(value, str) or not value.strip() or not value.isprintable():
        raise ValueError
    return value


def _number(lowest: float, highest: float) -> Callable[[Any], float]:
    def check(value: Any) -> float:
        number = float(value)
        if isinstance(value, bool) or not lowest <= number <= highest:
            raise ValueError
        return number

    return check


def _port(value: Any) -> int:
    number = _number(1, 65535)(value)
    if number != int(number):
        raise ValueError
    return int(number)


def _host(value: Any) -> str:
    if not re.fullmatch(r"[\w.:-]+", _text(value)):
        raise ValueError
    return str(value)


def _security(value: Any) -> str:
    if value not in SECURITIES:
        raise ValueError
    return str(value)


def _sender(value: Any) -> Address:
    return parse_address(_text(value))


def _file(value: Any) -> Path:
    path = Path(_text(value)).expanduser()
    if not path.is_file():
        raise ValueError
    return path


SERVER_SETTINGS = {
    "server": ServerSetting('the name of a server, like "mail.example.org"', _host),
    "port": ServerSetting("a port from 1 to 65535", _port),
    "security": ServerSetting('"starttls", "tls" or "plain"', _security),
    "user": ServerSetting("a name in one line of text", _text),
    "password": ServerSetting("one line of text", _text, secret=True),
    "from": ServerSetting('an address like "My Name <me@example.org>"', _sender),
    "timeout_seconds": ServerSetting(
        f"a number from 1 to {LONGEST_TIMEOUT_SECONDS}", _number(1, LONGEST_TIMEOUT_SECONDS)
    ),
    "ca_file": ServerSetting("a file of certificates (PEM) that is there", _file),
}
