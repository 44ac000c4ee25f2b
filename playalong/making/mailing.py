"""Making and mailing each pupil's own set, one after the other."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path
from tempfile import TemporaryDirectory

from playalong.errors import PlayalongError
from playalong.folder.names import TEMPORARY_PREFIX
from playalong.mail.compose import Composed, MailOptions, compose, write_drafts
from playalong.mail.contents import Choice, Item, read_contents
from playalong.mail.parcels import is_mp3
from playalong.mail.send import send_mails
from playalong.mail.settings import Server
from playalong.making.make import make
from playalong.making.plan import Plan
from playalong.making.pupils import Pupil


@dataclass(frozen=True)
class Outcome:
    """What became of one pupil's set; `error` says what stood in the way."""

    pupil: Pupil
    plan: Plan | None = None  # of the set, with what it leaves out
    composed: Composed | None = None
    drafts: tuple[Path, ...] = ()
    error: str = ""


def mail_each(
    pupils: Sequence[Pupil],
    out: Path,
    mail_options: MailOptions,
    choice: Choice,
    server: Server | None,
    jobs: int | None = None,
) -> Iterator[Outcome]:
    """Each pupil's set in a folder below `out`, then their mails: sent, or drafts in `out`.

    The options' recipients are taken from the list, one pupil a mail. A set that fails is an
    Outcome with its error, and the next pupil's follows.
    """
    for pupil in pupils:
        try:
            yield _mail_one(pupil, out, mail_options, choice, server, jobs)
        except PlayalongError as error:
            yield Outcome(pupil, error=str(error))


def _mail_one(
    pupil: Pupil,
    out: Path,
    mail_options: MailOptions,
    choice: Choice,
    server: Server | None,
    jobs: int | None,
) -> Outcome:
    folder = out / pupil.folder
    plan = make(pupil.drill, folder, pupil.options, jobs=jobs).plan
    own = replace(mail_options, to=(pupil.to,), cc=(), greeting=pupil.name)
    with TemporaryDirectory(prefix=TEMPORARY_PREFIX) as spare:
        shrink = partial(make_again, pupil=pupil, folder=Path(spare), jobs=jobs)
        composed = compose(read_contents(folder, choice), own, shrink)
        if server:
            send_mails(composed.mails, server)
            return Outcome(pupil, plan, composed)
        drafts = write_drafts(composed.mails, out, pupil.folder)
        return Outcome(pupil, plan, composed, tuple(drafts))


def make_again(
    items: Sequence[Item], kbps: int, pupil: Pupil, folder: Path, jobs: int | None
) -> list[Item]:
    """The items with every MP3 at `kbps`, from the drill itself, so that no sound is encoded
    twice."""
    make(pupil.drill, folder, replace(pupil.options, bitrate_kbps=kbps), jobs=jobs)
    return [item.instead(folder / item.listed) if is_mp3(item) else item for item in items]
