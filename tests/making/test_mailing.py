"""Each pupil's own set, made and mailed."""

from __future__ import annotations

from functools import partial
from pathlib import Path

import pytest
from mailfolder import short_drill

from playalong.drill.load import load
from playalong.mail.compose import MailOptions, compose
from playalong.mail.contents import Choice, read_contents
from playalong.mail.settings import Server
from playalong.making.mailing import mail_each, make_again
from playalong.making.make import make
from playalong.making.plan import Options
from playalong.making.pupils import read_pupils
from playalong.shipped import own_bank


@pytest.fixture(scope="module")
def drill(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return short_drill(tmp_path_factory.mktemp("drill"))


@pytest.fixture(scope="module")
def out(drill: Path) -> Path:
    make(load(drill), drill.parent / "out", Options(own_bank()))
    return drill.parent / "out"


def test_pupils_tracks_that_are_too_large_are_made_again_from_the_drill(
    drill: Path, out: Path, tmp_path: Path
) -> None:
    (tmp_path / "p.csv").write_text("address\na@example.org\n")
    (pupil,) = read_pupils(tmp_path / "p.csv", load(drill), Options(own_bank(), sessions=False))
    contents = read_contents(out, Choice(sessions=False))
    limit = int(1.2 * sum(item.size_bytes for item in contents.items))
    options = MailOptions((pupil.to,), limit_bytes=limit)
    shrink = partial(make_again, pupil=pupil, folder=tmp_path / "again", jobs=None)
    done = compose(contents, options, shrink)
    direct = Options(own_bank(), sessions=False, bitrate_kbps=done.kbps)
    make(load(drill), tmp_path / "direct", direct)
    for item in done.mails[0].items:
        assert item.path.read_bytes() == (tmp_path / "direct" / item.listed).read_bytes()


def test_a_set_that_cannot_be_written_is_that_pupils_outcome(drill: Path, tmp_path: Path) -> None:
    (tmp_path / "p.csv").write_text("address\na@example.org\nb@example.org\n")
    pupils = read_pupils(tmp_path / "p.csv", load(drill), Options(own_bank(), sessions=False))
    (tmp_path / "sets").mkdir()
    (tmp_path / "sets" / pupils[0].folder).write_text("a file in the way")
    no_server: Server | None = None
    options = MailOptions((), 1_000_000)
    first, second = mail_each(pupils, tmp_path / "sets", options, Choice(), no_server)
    assert "cannot make the folder" in first.error
    assert not second.error
    assert second.drafts[0].is_file()
