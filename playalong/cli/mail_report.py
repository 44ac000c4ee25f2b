"""What the mail command says when it is done."""

from __future__ import annotations

import json
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import typer

from playalong.cli.shared import note, say

if TYPE_CHECKING:
    from playalong.errors import PlayalongError
    from playalong.mail.compose import Composed
    from playalong.mail.sent import Handed
    from playalong.making.mailing import Outcome

SENT_BEFORE = "note: what was sent before is not sent again; --again sends it anew"


def report(
    composed: Composed,
    drafts: Sequence[Path],
    sent: Sequence[Handed],
    remarks: Sequence[str],
    refused: PlayalongError | None,
    quiet: bool,
    as_json: bool,
) -> None:
    """The mails of one folder, and what became of them where one was `refused`."""
    from playalong.mail.parcels import megabytes

    if as_json:
        error = str(refused) if refused else None
        data = {"error": error, "mails": _mail_data(composed, drafts, sent), "notes": remarks}
        typer.echo(json.dumps(data, indent=1))
        return
    for each in remarks:
        note(f"note: {each}")
    if quiet:
        return
    if drafts:
        for path, mail in zip(drafts, composed.mails, strict=True):
            files, size = len(mail.letter.attachments), megabytes(mail.size_bytes)
            say(f"{path} ({files} {'file' if files == 1 else 'files'}, {size})")
    else:
        for mail in composed.mails:
            # One that the server said nothing to is told as refused.
            ours = [each for each in sent if each.entry.sha256 == mail.sha256 and each.entry.answer]
            what = f"{mail.letter.subject} ({megabytes(mail.size_bytes)})"
            if now := [each.entry.address for each in ours if not each.before]:
                say(f"sent to {', '.join(now)}: {what}")
            for handed in ours:
                if handed.before:
                    say(f"sent before to {handed.entry.address}, {handed.entry.time}: {what}")
    if any(each.before for each in sent):
        note(SENT_BEFORE)


def report_pupil(outcome: Outcome) -> None:
    who = str(outcome.pupil.to)
    if outcome.error or not outcome.composed:
        note(f"{who}: failed")
        return
    if outcome.sent and all(each.before for each in outcome.sent):
        say(f"{who}: sent before, {outcome.sent[0].entry.time}")
        return
    for kind, lines in _left_out(outcome).items():
        for line in lines:
            note(f"{kind.replace('_', ' ')}: {who}: {line}")
    for each in outcome.composed.remarks:
        note(f"note: {who}: {each}")
    if outcome.composed.kbps:
        note(f"note: {who}: tracks at {outcome.composed.kbps} kbit/s, so that they fit")
    done = ", ".join(map(str, outcome.drafts)) or "sent"
    say(f"{who}: {done}")


def pupil_data(outcome: Outcome) -> dict[str, Any]:
    composed = outcome.composed
    return {
        "line": outcome.pupil.line,
        "address": outcome.pupil.address.addr_spec,
        "error": outcome.error or None,
        "mails": _mail_data(composed, outcome.drafts, outcome.sent) if composed else [],
        "notes": list(composed.remarks) if composed else [],
        **_left_out(outcome),
    }


def _left_out(outcome: Outcome) -> dict[str, list[str]]:
    """What make would say, by the kind that it would call it."""
    plan = outcome.plan
    return {
        "skipped": list(plan.skipped) if plan else [],
        "left_out": list(plan.left_out) if plan else [],
    }


def _mail_data(
    composed: Composed, drafts: Sequence[Path], sent: Sequence[Handed]
) -> list[dict[str, Any]]:
    return [
        {
            "draft": str(drafts[number]) if drafts else None,
            "subject": each.letter.subject,
            "bytes": each.size_bytes,
            "kbps": composed.kbps,
            "files": [str(item.listed) for item in each.items],
            "sent": [
                {
                    "address": handed.entry.address,
                    "time": handed.entry.time,
                    "answer": handed.entry.answer,
                    "before": handed.before,
                }
                for handed in sent
                if handed.entry.sha256 == each.sha256
            ],
        }
        for number, each in enumerate(composed.mails)
    ]
