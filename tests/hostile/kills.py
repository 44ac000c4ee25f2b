"""Builds and mailings that are killed at random moments, and go on when they are asked again."""

from __future__ import annotations

import asyncio
import os
import shutil
import signal
import sys
import tempfile
import time
from collections import Counter
from dataclasses import dataclass
from multiprocessing import get_context
from multiprocessing.connection import Connection
from pathlib import Path
from random import Random
from typing import Any

from mailserver import Taken, smtp_server

from playalong.folder.names import RECORD_FOLDER

BUILT = """title = "Kept"
instrument = "violin"
strings = ["A"]
keys = ["C major", "G major"]
bar = "p1: 1 p3: 1 p1: 2 1"
note = "quarter"
passes = 1
stages = ["listen", "alone"]
tempo = { start = 200, goal = 208 }
click.count_in = 1
session.rest = 0
"""
MAILED = """title = "Mailed"
instrument = "violin"
bar = "p1: 1 p3: 1 p1: 2 1"
note = "quarter"
passes = 1
stages = ["alone"]
tempo.start = 300
click.count_in = 1
"""
PUPILS = tuple(f"{name}@example.org" for name in ("anna", "ben", "cleo", "dora", "emil"))
TAKING_SECONDS = 0.1  # a server's, so that some are killed while it takes a mail
PROCESSES = get_context("forkserver")  # each a fork of one that has loaded what all need
PROCESSES.set_forkserver_preload(
    ["playalong.cli", "playalong.making.mailing", "playalong.making.paper"]
)
IN_DOUBT = "so it may have arrived and is not sent again"


def contents(out: Path) -> dict[str, bytes]:
    """Everything in a folder but the record."""
    files = (path for path in out.rglob("*") if path.is_file() and RECORD_FOLDER not in path.parts)
    return {str(path.relative_to(out)): path.read_bytes() for path in files}


def kill_builds(count: int, seed: int, folder: Path) -> Counter[str]:
    """Kill so many builds; each is begun again until it ends, with the bytes of one undisturbed."""
    chance = Random(f"builds {seed}")
    drill = folder / "kept.toml"
    drill.write_text(BUILT, encoding="utf-8")
    seen: Counter[str] = Counter()
    reference = folder / "reference"
    longest_seconds = _end(_build(drill, reference)).seconds
    whole = contents(reference)
    while seen["killed"] < count:
        out = folder / f"out-{seen['ended']}"
        ended = _end(_build(drill, out), chance.uniform(0, longest_seconds))
        # what stands under its own name is whole at every moment
        stand = {name: raw for name, raw in contents(out).items() if not name.endswith(".part")}
        assert {name: whole[name] for name in stand} == stand
        seen["killed" if ended.was_killed else "ended"] += 1
        if not ended.was_killed:
            assert contents(out) == whole
    _end(_build(drill, out))
    assert contents(out) == whole
    return seen


def _build(drill: Path, out: Path) -> list[str]:
    return ["make", str(drill), "--out", str(out), "--quiet"]


class SlowToAnswer(Taken):
    """Takes a mail, and says so a moment later."""

    async def handle_DATA(self, server: Any, session: Any, envelope: Any) -> str:  # noqa: N802
        answer = await super().handle_DATA(server, session, envelope)
        await asyncio.sleep(TAKING_SECONDS)
        return answer


def kill_mailings(count: int, seed: int, folder: Path) -> Counter[str]:
    """Kill so many mailings to a list of pupils; each is begun again until it ends.

    Then each pupil was served once. One whose mail was under way at a kill may have it or not: the
    last run says so by name, and nobody has it twice.
    """
    chance = Random(f"mailings {seed}")
    (folder / "mailed.toml").write_text(MAILED, encoding="utf-8")
    (folder / "pupils.csv").write_text("address\n" + "\n".join(PUPILS) + "\n", encoding="utf-8")
    words = ["mail", "mailed.toml", "--pupils", "pupils.csv", "--out", "sets", "--no-session"]
    _end(words, folder=folder)  # makes the sets, and drafts
    shutil.copytree(folder / "sets", folder / "made")
    seen: Counter[str] = Counter()
    longest_seconds = 0.0
    while seen["killed"] < count:
        shutil.rmtree(folder / "sets")
        shutil.copytree(folder / "made", folder / "sets")
        taken = SlowToAnswer()
        with smtp_server(taken) as port:
            _write_settings(folder / "mail.toml", port)
            send = [*words, "--send", "--settings", "mail.toml", "--json"]
            if not longest_seconds:
                longest_seconds = _end(send, folder=folder).seconds
                assert _served(taken) == dict.fromkeys(PUPILS, 1)
                continue
            while (ended := _end(send, chance.uniform(0, longest_seconds), folder)).was_killed:
                seen["killed"] += 1
            time.sleep(2 * TAKING_SECONDS)
        seen["ended"] += 1
        _look_at(taken, ended, seen)
    return seen


def _look_at(taken: Taken, ended: Ended, seen: Counter[str]) -> None:
    """Nobody has the mail twice; who has none is named."""
    served = _served(taken)
    for pupil in PUPILS:
        in_doubt = f"to {pupil}, {IN_DOUBT}" in ended.told
        assert served.get(pupil, 0) == 1 or (in_doubt and not served.get(pupil, 0)), (
            f"{pupil} has {served.get(pupil, 0)} mails; {ended.told}"
        )
        seen["served, and known"] += not in_doubt
        seen["in doubt, and has it"] += in_doubt and pupil in served
        seen["in doubt, and has it not"] += pupil not in served
    assert (ended.status != 0) == (IN_DOUBT in ended.told)


def _served(taken: Taken) -> dict[str, int]:
    return Counter(address for recipients in taken.recipients for address in recipients)


def _write_settings(path: Path, port: int) -> None:
    path.write_text(
        f'server = "127.0.0.1"\nport = {port}\nsecurity = "plain"\nfrom = "me@example.org"\n'
    )


@dataclass(frozen=True)
class Ended:
    """How a command ended."""

    status: int
    seconds: float
    told: str

    @property
    def was_killed(self) -> bool:
        return self.status == -signal.SIGKILL


def _end(words: list[str], kill_after: float | None = None, folder: Path | None = None) -> Ended:
    """Run a command to its end, or to its death so many seconds after it is ready to begin."""
    ready, here = PROCESSES.Pipe(duplex=False)
    with tempfile.NamedTemporaryFile(suffix=".txt") as said:
        process = PROCESSES.Process(target=_run, args=(words, folder, said.name, here))
        process.start()
        here.close()
        ready.recv()
        began = time.monotonic()
        process.join(kill_after)
        process.kill()
        process.join()
        seconds = time.monotonic() - began
        told = Path(said.name).read_text(encoding="utf-8")
    assert process.exitcode is not None
    assert "Traceback" not in told, told
    assert process.exitcode in (0, 2, -signal.SIGKILL), told
    return Ended(process.exitcode, seconds, told)


def _run(words: list[str], folder: Path | None, errors: str, ready: Connection) -> None:
    """The program in a process of its own, with what it says on the error stream in a file."""
    from playalong.cli import main

    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
    os.dup2(os.open(errors, os.O_WRONLY), sys.stderr.fileno())
    if folder is not None:
        os.chdir(folder)
    sys.argv = ["playalong", *words]
    ready.send("ready")
    main()
