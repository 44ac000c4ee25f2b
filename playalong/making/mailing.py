"""Making and mailing each pupil's own set, one after the other."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path
from tempfile import TemporaryDirectory

from playalong.errors import PlayalongError, short, shown
from playalong.folder.lock import locked, still
from playalong.folder.names import TEMPORARY_PREFIX
from playalong.mail.compose import Composed, MailOptions, compose, write_drafts
from playalong.mail.contents import Choice, Item, read_contents
from playalong.mail.discretion import discreet
from playalong.mail.parcels import is_mp3
from playalong.mail.send import send_mails
from playalong.mail.sent import Handed, Sent
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
    sent: tuple[Handed, ...] = ()  # what was handed over of each mail, by this run or earlier ones
    error: str = ""


def mail_each(
    pupils: Sequence[Pupil],
    out: Path,
    mail_options: MailOptions,
    choice: Choice,
    server: Server | None,
    jobs: int | None = None,
    *,
    again: bool = False,
) -> Iterator[Outcome]:
    """Each pupil's set in a folder below `out`, then their mails: sent, or drafts in `out`.

    The options' recipients are taken from the list, one pupil a mail. A mail that an earlier run
    sent is not sent again, unless `again` asks for it. A set that fails, for whatever reason, is
    an Outcome with its error, and the next pupil's follows.
    """
    with locked(out):
        sent = Sent(out, again=again)
        for pupil in pupils:
            outcome = Outcome(pupil)
            try:
                for step in _steps(pupil, out, mail_options, choice, server, sent, jobs):
                    outcome = step
            except PlayalongError as error:
                outcome = replace(outcome, error=str(error))
            except Exception as error:  # a fault of ours, say, which is nothing to the others
                outcome = replace(outcome, error=_unexpected(error, server))
            if outcome.composed and server:
                handed = (each for mail in outcome.composed.mails for each in sent.of(mail))
                outcome = replace(outcome, sent=tuple(handed))
            yield outcome


def _steps(
    pupil: Pupil,
    out: Path,
    mail_options: MailOptions,
    choice: Choice,
    server: Server | None,
    sent: Sent,
    jobs: int | None,
) -> Iterator[Outcome]:
    """The outcome as it grows, so that what was done is known where the next step fails."""
    folder = out / pupil.folder
    plan = make(pupil.drill, folder, pupil.options, jobs=jobs).plan
    yield Outcome(pupil, plan)
    own = replace(mail_options, to=(pupil.to,), cc=(), greeting=pupil.name)
    with still(folder), TemporaryDirectory(prefix=TEMPORARY_PREFIX) as spare:
        shrink = partial(make_again, pupil=pupil, folder=Path(spare), jobs=jobs)
        composed = compose(read_contents(folder, choice), own, shrink)
        yield Outcome(pupil, plan, composed)
        if server:
            send_mails(composed.mails, server, sent)
        else:
            drafts = write_drafts(composed.mails, out, pupil.folder)
            yield Outcome(pupil, plan, composed, tuple(drafts))


def _unexpected(error: Exception, server: Server | None) -> str:
    said = str(error)
    if server:
        said = discreet(said, server.user, server.password)
    return f"an error that nobody foresaw: {type(error).__name__}: {shown(short(said))}"


def make_again(
    items: Sequence[Item], kbps: int, pupil: Pupil, folder: Path, jobs: int | None
) -> list[Item]:
    """The items with every MP3 at `kbps`, from the drill itself, so that no sound is encoded
    twice."""
    make(pupil.drill, folder, replace(pupil.options, bitrate_kbps=kbps), jobs=jobs)
    return [item.instead(folder / item.listed) if is_mp3(item) else item for item in items]
