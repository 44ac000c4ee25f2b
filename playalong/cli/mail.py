"""The command that mails: a folder of tracks to one, or a drill to each of a list of pupils."""

from __future__ import annotations

import json
from functools import partial
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING, Annotated

import typer

from playalong.cli.mail_report import SENT_BEFORE, pupil_data, report, report_pupil
from playalong.cli.shared import AsJson, Quiet, app, load, note
from playalong.errors import PlayalongError

if TYPE_CHECKING:
    from email.headerregistry import Address

    from playalong.mail.compose import MailOptions
    from playalong.mail.contents import Choice
    from playalong.mail.settings import Server

LIMIT_MB = 20.0  # a size that common servers take, counted after encoding (common practice)


@app.command()
def mail(
    where: Annotated[
        Path,
        typer.Argument(
            metavar="OUT", help="The folder that make filled; with --pupils, a drill file."
        ),
    ],
    to: Annotated[
        list[str] | None, typer.Option("--to", help="Address: me@example.org, or Name <…>.")
    ] = None,
    cc: Annotated[list[str] | None, typer.Option("--cc", help="Address for a copy.")] = None,
    sender: Annotated[
        str | None, typer.Option("--from", help="Your address, instead of the settings'.")
    ] = None,
    subject: Annotated[
        str | None, typer.Option("--subject", help="The drill's title if left out.")
    ] = None,
    pupils: Annotated[
        Path | None,
        typer.Option(
            "--pupils",
            help="CSV of address, key, string, start, goal, name, positions: each gets their own.",
        ),
    ] = None,
    limit: Annotated[
        float, typer.Option("--limit", help="Largest mail in MB, after encoding.")
    ] = LIMIT_MB,
    zipped: Annotated[bool, typer.Option("--zip", help="Pack the files in one zip.")] = False,
    keys: Annotated[list[str] | None, typer.Option("--key", help="Only this key.")] = None,
    strings: Annotated[list[str] | None, typer.Option("--string", help="Only this string.")] = None,
    stages: Annotated[list[str] | None, typer.Option("--stage", help="Only this stage.")] = None,
    bpms: Annotated[list[int] | None, typer.Option("--bpm", help="Only this tempo.")] = None,
    midi: Annotated[bool, typer.Option("--midi", help="The MIDI files too.")] = False,
    session: Annotated[
        bool | None,
        typer.Option("--session/--no-session", help="Sessions; where they fit if left out."),
    ] = None,
    out: Annotated[
        Path | None,
        typer.Option("--out", "-o", help="Folder for the drafts, and for the pupils' sets."),
    ] = None,
    send: Annotated[
        bool, typer.Option("--send", help="Send now by the server of your settings; no draft.")
    ] = False,
    again: Annotated[bool, typer.Option("--again", help="Send also what was sent before.")] = False,
    shared_addresses: Annotated[
        bool, typer.Option("--shared-addresses", help="Several pupils may have one address.")
    ] = False,
    settings: Annotated[
        Path | None,
        typer.Option("--settings", help="Settings file, instead of your own (playalong settings)."),
    ] = None,
    jobs: Annotated[
        int | None, typer.Option("--jobs", min=1, help="Workers; all cores if left out.")
    ] = None,
    quiet: Quiet = False,
    as_json: AsJson = False,
) -> None:
    """Mail tracks and sheet: as drafts that your mail program opens, or sent (--send)."""
    from playalong.mail.compose import MailOptions
    from playalong.mail.contents import Choice

    _check_options(pupils, to, cc, keys, strings, limit)
    if again and not send:
        raise PlayalongError("--again: a draft is always written; it goes with --send")
    choice = Choice(
        keys=tuple(_key_names(keys)),
        strings=tuple(strings or ()),
        stages=tuple(stages or ()),
        bpms=tuple(bpms or ()),
        midi=midi,
        page=zipped,
        sessions=session,
    )
    server = _server(settings, sender) if send else None
    mail_options = MailOptions(
        to=_addresses("--to", to),
        cc=_addresses("--cc", cc),
        sender=server.sender if server else _sender(sender),
        subject=subject or "",
        limit_bytes=int(limit * 1e6),
        zipped=zipped,
        needs_sessions=session is True,
        to_send=send,
    )
    if pupils:
        _mail_pupils(
            where, pupils, out, mail_options, choice, server, again, shared_addresses, jobs, quiet,
            as_json,
        )  # fmt: skip
    else:
        _mail_folder(where, out or Path(), mail_options, choice, server, again, quiet, as_json)


def _mail_folder(
    where: Path,
    out: Path,
    mail_options: MailOptions,
    choice: Choice,
    server: Server | None,
    again: bool,
    quiet: bool,
    as_json: bool,
) -> None:
    from playalong.folder.lock import locked, still
    from playalong.folder.names import TEMPORARY_PREFIX, safe_name
    from playalong.mail.compose import compose, write_drafts
    from playalong.mail.contents import read_contents
    from playalong.mail.reencode import reencode
    from playalong.mail.send import check_login, send_mails
    from playalong.mail.sent import Handed, Sent

    read_contents(where, choice)  # a folder that holds no set is told, and left as it is
    with (
        locked(where) if server else still(where),
        TemporaryDirectory(prefix=TEMPORARY_PREFIX) as spare,
    ):
        contents = read_contents(where, choice)
        sent = Sent(where, again=again) if server else Sent()
        if server:
            check_login(server)
        composed = compose(contents, mail_options, partial(reencode, folder=Path(spare)))
        drafts: list[Path] = []
        handed: list[Handed] = []
        refused: PlayalongError | None = None
        if server:
            try:
                send_mails(composed.mails, server, sent)
            except PlayalongError as error:  # told with what was sent all the same
                refused = error
            handed = [each for mail in composed.mails for each in sent.of(mail)]
        else:
            drafts = write_drafts(composed.mails, out, safe_name(contents.title))
    remarks = list(composed.remarks)
    if composed.kbps:
        remarks.insert(
            0,
            f"the tracks were encoded a second time, at {composed.kbps} kbit/s, so that they fit; "
            f"playalong make with --bitrate {composed.kbps} sounds a little cleaner",
        )
    report(composed, drafts, handed, remarks, refused, quiet, as_json)
    if refused:
        raise refused


def _mail_pupils(
    where: Path,
    list_file: Path,
    out: Path | None,
    mail_options: MailOptions,
    choice: Choice,
    server: Server | None,
    again: bool,
    shared_addresses: bool,
    jobs: int | None,
    quiet: bool,
    as_json: bool,
) -> None:
    from playalong.cli.defaults import defaults
    from playalong.folder.names import safe_name
    from playalong.mail.send import check_login
    from playalong.making.mailing import mail_each
    from playalong.making.plan import Options
    from playalong.making.pupils import read_pupils
    from playalong.shipped import own_bank

    options = Options(
        bank=own_bank(), sessions=choice.sessions is not False, paper=defaults().paper
    )
    listed = read_pupils(
        list_file,
        load(where),
        options,
        shared_addresses=shared_addresses,
        tell=lambda remark: None if quiet else note(f"note: {remark}"),
    )
    if server:
        check_login(server)
    folder = out or Path(f"{safe_name(listed[0].drill.title)}-pupils")
    outcomes = []
    for outcome in mail_each(listed, folder, mail_options, choice, server, jobs, again=again):
        outcomes.append(outcome)
        if not (quiet or as_json):
            report_pupil(outcome)
    if as_json:
        typer.echo(json.dumps([pupil_data(each) for each in outcomes], indent=1))
    elif not quiet and any(each.before for outcome in outcomes for each in outcome.sent):
        note(SENT_BEFORE)
    failed = [each for each in outcomes if each.error]
    if failed:
        faults = "\n".join(
            f"  {list_file}, line {each.pupil.line}, {each.pupil.to}: {each.error}"
            for each in failed
        )
        raise PlayalongError(f"{len(failed)} of {len(outcomes)} pupils have no mail:\n{faults}")


def _check_options(
    pupils: Path | None,
    to: list[str] | None,
    cc: list[str] | None,
    keys: list[str] | None,
    strings: list[str] | None,
    limit: float,
) -> None:
    if pupils and (to or cc):
        raise PlayalongError("--pupils: the list says who gets a mail; leave out --to and --cc")
    if pupils and (keys or strings):
        raise PlayalongError("--pupils: the list says key and string; leave out --key and --string")
    if not pupils and not to:
        raise PlayalongError("nobody to mail to; add --to ADDRESS, or --pupils LIST")
    if not 0 < limit <= 1000:
        raise PlayalongError(f"--limit: {limit:g} is not a size from 0 to 1000 MB")


def _key_names(keys: list[str] | None) -> list[str]:
    from playalong.music.key import parse_key

    return [parse_key(key).name for key in keys or ()]


def _addresses(option: str, texts: list[str] | None) -> tuple[Address, ...]:
    from playalong.mail.address import AddressError, parse_addresses

    try:
        return tuple(each for text in texts or () for each in parse_addresses(text))
    except AddressError as error:
        raise PlayalongError(f"{option}: {error}") from None


def _sender(text: str | None) -> Address | None:
    found = _addresses("--from", [text] if text else None)
    if len(found) > 1:
        raise PlayalongError("--from: one address stands here")
    return found[0] if found else None


def _server(settings: Path | None, sender: str | None) -> Server:
    from playalong.mail.settings import open_to_others, read_server

    server = read_server(settings, sender=_sender(sender))
    if warning := open_to_others(settings):  # with --quiet too: it is about a password
        note(f"warning: {warning}")
    return server
