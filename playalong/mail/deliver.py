"""Where mails go: a folder of drafts, or a server."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from playalong.folder.files import make_folder, write_bytes
from playalong.mail.compose import Mail
from playalong.mail.send import Outbox, SendError
from playalong.mail.settings import Server


def write_drafts(mails: Sequence[Mail], folder: Path, stem: str) -> list[Path]:
    """`stem.eml`, or `stem-1-of-3.eml` and so on; each is whole or absent."""
    make_folder(folder)
    paths = []
    for number, mail in enumerate(mails, 1):
        numbers = f"-{number}-of-{len(mails)}" if len(mails) > 1 else ""
        paths.append(folder / f"{stem}{numbers}.eml")
        write_bytes(paths[-1], mail.content())
    return paths


def send_mails(mails: Sequence[Mail], server: Server) -> None:
    """Send in their order. The error says how many of several had gone before it."""
    with Outbox(server) as outbox:
        for number, mail in enumerate(mails, 1):
            try:
                outbox.send(mail.content(), mail.letter.recipients)
            except SendError as error:
                if len(mails) == 1:
                    raise
                raise SendError(f"mail {number} of {len(mails)}: {error}") from None


def check_login(server: Server) -> None:
    """Connect and log in, and send nothing: what is wrong shows before the work begins."""
    with Outbox(server):
        pass
