"""Each pupil's own set, made and mailed."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from email.headerregistry import Address
from functools import partial
from pathlib import Path

import pytest
from mailfolder import short_drill
from mailserver import PASSWORD, Taken, smtp_server

from playalong.drill.load import load
from playalong.folder.lock import FolderBusyError, locked
from playalong.mail.compose import MailOptions, compose
from playalong.mail.contents import Choice, read_contents
from playalong.mail.settings import Server
from playalong.making import mailing
from playalong.making.mailing import Outcome, mail_each, make_again
from playalong.making.make import make
from playalong.making.plan import Options
from playalong.making.pupils import Pupil, read_pupils
from playalong.shipped import own_bank

TRACKS_ALONE = Options(own_bank(), sessions=False, sheet=False, page=False)
WITH_SHEET = replace(TRACKS_ALONE, sheet=True)


@pytest.fixture(scope="module")
def drill(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return short_drill(tmp_path_factory.mktemp("drill"))


@pytest.fixture(scope="module")
def out(drill: Path) -> Path:
    make(load(drill), drill.parent / "out", WITH_SHEET)
    return drill.parent / "out"


def test_pupils_tracks_that_are_too_large_are_made_again_from_the_drill(
    drill: Path, out: Path, tmp_path: Path
) -> None:
    (tmp_path / "p.csv").write_text("address\na@example.org\n")
    (pupil,) = read_pupils(tmp_path / "p.csv", load(drill), WITH_SHEET)
    contents = read_contents(out, Choice(sessions=False))
    limit = int(1.2 * sum(item.size_bytes for item in contents.items))
    options = MailOptions((pupil.to,), limit_bytes=limit)
    shrink = partial(make_again, pupil=pupil, folder=tmp_path / "again", jobs=None)
    done = compose(contents, options, shrink)
    direct = replace(WITH_SHEET, bitrate_kbps=done.kbps)
    make(load(drill), tmp_path / "direct", direct)
    (mail,) = done.mails
    names = {item.path.name for item in mail.items}
    assert {"sheet.pdf", "01-200-listen.mp3", "04-208-alone.mp3"} < names
    for item in mail.items:
        assert item.path.read_bytes() == (tmp_path / "direct" / item.listed).read_bytes()


def test_a_set_that_cannot_be_written_is_that_pupils_outcome(drill: Path, tmp_path: Path) -> None:
    (tmp_path / "p.csv").write_text("address\na@example.org\nb@example.org\n")
    pupils = read_pupils(tmp_path / "p.csv", load(drill), TRACKS_ALONE)
    (tmp_path / "sets").mkdir()
    (tmp_path / "sets" / pupils[0].folder).write_text("a file in the way")
    no_server: Server | None = None
    options = MailOptions((), 1_000_000)
    first, second = mail_each(pupils, tmp_path / "sets", options, Choice(), no_server)
    assert "cannot make the folder" in first.error
    assert not second.error
    assert second.drafts[0].is_file()


SENDER = Address("Me", "me", "example.org")


def pupils_of(drill: Path, *names: str) -> tuple[Pupil, ...]:
    path = drill.parent / "pupils.csv"
    path.write_text("address\n" + "".join(f"{name}@example.org\n" for name in names))
    return read_pupils(path, load(drill), TRACKS_ALONE)


def send_each(
    pupils: tuple[Pupil, ...], out: Path, port: int, *, again: bool = False
) -> dict[str, Outcome]:
    server = Server("127.0.0.1", SENDER, "plain", port, password=PASSWORD, timeout_seconds=5)
    options = MailOptions((), 10_000_000, sender=SENDER, to_send=True)
    outcomes = mail_each(pupils, out, options, Choice(), server, again=again)
    return {each.pupil.address.username: each for each in outcomes}


def served(taken: Taken) -> str:
    """The first letters of those who got a mail, in order."""
    return "".join(recipient[0] for recipients in taken.recipients for recipient in recipients)


def test_the_same_command_goes_on_with_those_who_were_not_served(
    drill: Path, tmp_path: Path
) -> None:
    taken = Taken({"RCPT c@example.org": "450 later"})
    with smtp_server(taken) as port:
        first = send_each(pupils_of(drill, *"abcd"), tmp_path, port)
        assert served(taken) == "abd"
        assert [name for name, each in first.items() if each.error] == ["c"]
        taken.answers.clear()
        # Also where somebody has turned the list around, so that their folders have other numbers.
        second = send_each(pupils_of(drill, *"dcba"), tmp_path, port)
        assert served(taken) == "abdc"
        before = {name: [handed.before for handed in each.sent] for name, each in second.items()}
        assert before == {"d": [True], "c": [False], "b": [True], "a": [True]}
        assert not any(each.error for each in second.values())
        send_each(pupils_of(drill, *"ab"), tmp_path, port, again=True)
    assert served(taken) == "abdcab"


def fails_for(name: str, error: Exception) -> Callable[..., object]:
    def composing(contents: object, options: MailOptions, shrink: object) -> object:
        if options.to[0].username == name:
            raise error
        return compose(contents, options, shrink)  # type: ignore[arg-type]

    return composing


@pytest.mark.parametrize(
    "error", [ZeroDivisionError(f"\x1b[2J {PASSWORD}"), MemoryError(), OSError(28, "No space left")]
)
def test_an_error_of_any_kind_at_one_pupil_leaves_the_others_served(
    drill: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, error: Exception
) -> None:
    monkeypatch.setattr(mailing, "compose", fails_for("b", error))
    taken = Taken()
    with smtp_server(taken) as port:
        outcomes = send_each(pupils_of(drill, *"abc"), tmp_path, port)
    assert served(taken) == "ac"
    assert f"nobody foresaw: {type(error).__name__}" in outcomes["b"].error
    assert PASSWORD not in outcomes["b"].error
    assert "\x1b" not in outcomes["b"].error
    assert not outcomes["a"].error + outcomes["c"].error


def test_two_runs_at_once_do_not_both_mail(drill: Path, tmp_path: Path) -> None:
    taken = Taken()
    with (
        smtp_server(taken) as port,
        locked(tmp_path),
        pytest.raises(FolderBusyError, match="another build is at work"),
    ):
        send_each(pupils_of(drill, "a"), tmp_path, port)
    assert not taken.contents
