"""Settings of the mail server: file, environment, faults, and a password that stays hidden."""

from __future__ import annotations

import sys
import traceback
from email.headerregistry import Address
from pathlib import Path
from typing import Any

import pytest

from playalong.mail.settings import (
    EXAMPLE,
    SERVER_SETTINGS,
    Server,
    open_to_others,
    read_server,
    settings_path,
)
from playalong.making.pupils import COLUMNS
from playalong.settings import SettingsError

GOOD = """
server = "mail.example.org"
user = "me@example.org"
password = "höchst-geheim"
from = "Me <me@example.org>"
"""


def settings_file(tmp_path: Path, text: str) -> Path:
    path = tmp_path / "mail.toml"
    path.write_text(text, encoding="utf-8")
    return path


def test_encryption_is_on_unless_asked_otherwise(tmp_path: Path) -> None:
    server = read_server(settings_file(tmp_path, GOOD), {})
    assert (server.host, server.security, server.port) == ("mail.example.org", "starttls", 587)
    assert (server.user, server.password) == ("me@example.org", "höchst-geheim")
    assert server.sender == Address("Me", "me", "example.org")


# ports of RFC 8314 and RFC 6409; 25 of RFC 5321
@pytest.mark.parametrize(("security", "port"), [("tls", 465), ("starttls", 587), ("plain", 25)])
def test_each_kind_of_security_has_its_port(tmp_path: Path, security: str, port: int) -> None:
    path = settings_file(tmp_path, GOOD + f'security = "{security}"')
    assert read_server(path, {}).port == port
    assert read_server(path, {"PLAYALONG_MAIL_PORT": "2525"}).port == 2525


def test_the_example_in_the_message_is_a_file_that_works(tmp_path: Path) -> None:
    assert read_server(settings_file(tmp_path, EXAMPLE), {}).host == "mail.example.org"


def test_the_environment_goes_before_the_file_and_alone_is_enough(tmp_path: Path) -> None:
    words = {"SERVER": "other.example.org", "FROM": "a@example.org", "SECURITY": "tls"}
    environment = {f"PLAYALONG_MAIL_{name}": word for name, word in words.items()}
    assert read_server(settings_file(tmp_path, GOOD), environment).host == "other.example.org"
    alone = read_server(None, environment)
    assert (alone.host, alone.port, alone.user) == ("other.example.org", 465, "")


@pytest.mark.skipif(sys.platform != "linux", reason="each platform has a place of its own")
def test_the_file_lies_where_the_xdg_base_directory_specification_says(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path))
    assert settings_path() == tmp_path / "playalong/mail.toml"
    home = Path.home() / ".config/playalong/mail.toml"
    monkeypatch.setenv("XDG_CONFIG_HOME", "not/absolute")  # "must be absolute"
    assert settings_path() == home
    monkeypatch.delenv("XDG_CONFIG_HOME")
    assert settings_path() == home


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", 'no "server" is set; write .*mail.toml like this'),
        ('server = "a.example"', 'no "from" is set'),
        (GOOD + 'sever = "x"', 'sever is no setting; did you mean "server"'),
        (GOOD + 'security = "ssl"', "security: 'ssl' is not \"starttls\", \"tls\" or \"plain\""),
        (GOOD + "port = 0", "port: 0 is not a port from 1 to 65535"),
        (GOOD + "port = 25.5", r"port: 25\.5 is not a port"),
        (GOOD + "port = true", "port: True is not a port"),
        (GOOD + "timeout_seconds = 0", "timeout_seconds: 0 is not a number from 1 to 600"),
        (GOOD + 'timeout_seconds = "nan"', "timeout_seconds: 'nan' is not a number"),
        (GOOD + 'ca_file = "/none"', "ca_file: '/none' is not a file of certificates"),
        ('server = "a b"', "server: 'a b' is not the name of a server"),
        ('server = 3', "server: 3 is not the name of a server"),
        ('from = "nobody"', "from: \"nobody\" is not a mail address"),
        ('from = "a@b.c\\nBcc: d@e.f"', "from: .* is not an address like"),
        ('server = "a.example"\nfrom = "a@b.c"\nuser = "u"', "a user is set and no password"),
        ('server = "a.example"\nfrom = "a@b.c"\npassword = "p"', "a password is set and no user"),
    ],
)  # fmt: skip
def test_what_is_wrong_names_file_setting_and_what_it_may_be(
    tmp_path: Path, text: str, said: str
) -> None:
    path = settings_file(tmp_path, text)
    with pytest.raises(SettingsError, match=said) as error:
        read_server(path, {})
    assert str(path) in str(error.value)


def test_what_is_wrong_names_its_line(tmp_path: Path) -> None:
    path = settings_file(tmp_path, GOOD + "port = 0")
    with pytest.raises(SettingsError, match=r"mail\.toml, line 6: port: 0 is not a port"):
        read_server(path, {})


@pytest.mark.parametrize(
    ("line", "name", "values", "over"),
    [
        ("port = {}", "port", (1, 65535), (0, 65536)),
        ("timeout_seconds = {}", "timeout_seconds", (1, 600), (0.999, 600.001)),
    ],
)
def test_a_number_may_be_at_its_limits_and_not_beyond(
    tmp_path: Path, line: str, name: str, values: tuple[float, ...], over: tuple[float, ...]
) -> None:
    for value in values:
        server = read_server(settings_file(tmp_path, GOOD + line.format(value)), {})
        assert getattr(server, name) == value
    for value in over:
        with pytest.raises(SettingsError, match=f"{name}: {value} is not a "):
            read_server(settings_file(tmp_path, GOOD + line.format(value)), {})


def test_what_is_left_out_is_what_a_server_is_made_with(tmp_path: Path) -> None:
    server = read_server(settings_file(tmp_path, 'server = "a.example"\nfrom = "a@b.c"'), {})
    assert server == Server("a.example", Address("", "a", "b.c"))
    assert (server.timeout_seconds, server.ca_file, server.password) == (30, None, "")


@pytest.mark.parametrize(
    ("fields", "said"),
    [
        ({"security": "ssl"}, 'security: \'ssl\' is not "starttls", "tls" or "plain"'),
        ({"port": 0}, "port: 0 is not a port from 1 to 65535"),
        ({"host": "a b"}, "server: 'a b' is not the name of a server"),
    ],
)
def test_no_server_is_made_that_could_not_be_meant(fields: dict[str, Any], said: str) -> None:
    with pytest.raises(SettingsError, match=said):
        Server(**{"host": "a.example", "sender": Address("", "a", "b.c"), **fields})


def test_a_certificate_file_is_looked_for_from_the_home_folder(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("HOME", str(tmp_path))
    (tmp_path / "ca.pem").write_text("")
    server = read_server(settings_file(tmp_path, GOOD + 'ca_file = "~/ca.pem"'), {})
    assert server.ca_file == tmp_path / "ca.pem"


@pytest.mark.parametrize(
    "text",
    [
        GOOD.replace('"höchst-geheim"', "höchst-geheim"),
        GOOD.replace('"höchst-geheim"', '"höchst-geheim'),
        GOOD.replace('"höchst-geheim"', '["höchst-geheim"]'),
        GOOD.replace("höchst-geheim", "höchst-geheim\\n"),
        GOOD + 'port = "höchst"',
    ],
)
def test_no_fault_in_the_file_shows_the_password(tmp_path: Path, text: str) -> None:
    with pytest.raises(SettingsError, match=r"mail\.toml") as error:
        read_server(settings_file(tmp_path, text), {})
    assert "höchst-geheim" not in "".join(traceback.format_exception(error.value))


def test_a_settings_file_that_is_asked_for_must_be_there(tmp_path: Path) -> None:
    with pytest.raises(SettingsError, match="there is no settings file"):
        read_server(tmp_path / "none.toml", {})


def test_a_password_that_others_can_read_earns_a_warning(tmp_path: Path) -> None:
    path = settings_file(tmp_path, GOOD)
    path.chmod(0o644)
    assert "chmod 600" in (open_to_others(path) or "")
    path.chmod(0o600)
    assert open_to_others(path) is None
    assert open_to_others(tmp_path / "none.toml") is None


@pytest.mark.parametrize("mode", [0o640, 0o604])
def test_one_reader_too_many_is_enough_and_without_a_password_none_is(
    tmp_path: Path, mode: int
) -> None:
    path = settings_file(tmp_path, GOOD)
    path.chmod(mode)
    assert open_to_others(path)
    path.write_text('server = "a.example"')
    assert open_to_others(path) is None


def test_what_is_not_toml_is_named_by_its_line(tmp_path: Path) -> None:
    with pytest.raises(SettingsError, match=r"mail\.toml, line 4 is not TOML; text stands in"):
        read_server(settings_file(tmp_path, '\n\nserver = "a.example"\nfrom = me\n'), {})


README = (Path(__file__).parents[2] / "README.md").read_text(encoding="utf-8")


def test_the_readme_shows_settings_and_columns_as_they_are() -> None:
    assert EXAMPLE in README
    assert "\n" + ",".join(COLUMNS) + "\n" in README
    for name in SERVER_SETTINGS:
        assert f"`{name}`" in README or f"\n{name} " in README
