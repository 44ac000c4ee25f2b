"""Records, manifests and lists of what was sent, as no build would leave them."""

from __future__ import annotations

import json
import shutil
from pathlib import Path
from random import Random

from hostile.trial import assert_told
from hostile.writing import lines_moved, slipped

from playalong.errors import PlayalongError
from playalong.folder.files import sha256_of, write_text
from playalong.folder.journal import FORMAT
from playalong.folder.manifest import Manifest
from playalong.folder.names import MANIFEST_FILE, RECORD_FOLDER
from playalong.folder.record import JOURNAL, opened
from playalong.mail.sent import FILE as SENT_FILE
from playalong.mail.sent import FORMAT as SENT_FORMAT
from playalong.mail.sent import Sent

LIMIT_SECONDS = 2.0
OURS, SOMEBODYS, NEW = "a/one.mp3", "a/mine.mp3", "a/two.mp3"
NAMES = ("../home/diary.txt", "/etc/passwd", "..", "a/../../home/diary.txt", "C:x", OURS, SOMEBODYS)
DRILL = {"title": "T", "file": "t.toml", "bars": "1"}
SHA = sha256_of("sound")
LINES = (
    {"drill": DRILL, "format": FORMAT},
    {"claim": [OURS, NEW]},
    {"wrote": {OURS: [SHA]}},
    {"made": "one", "fingerprint": "f", "files": {OURS: [5, 1]}, "entry": {"sha256": {OURS: SHA}}},
)
SENT = {"address": "a@example.org", "subject": "S", "sha256": SHA, "time": "t", "answer": None}
SOUND_ONES = {
    JOURNAL: "".join(json.dumps(line) + "\n" for line in LINES).encode(),
    MANIFEST_FILE: Manifest("T", "t.toml", SHA, sha256={OURS: SHA}).json().encode(),
    SENT_FILE: json.dumps({"format": SENT_FORMAT, "mails": [SENT]}).encode(),
}
WORDS = tuple(
    word.encode()
    for word in (
        *(json.dumps(name) for name in NAMES),
        *('"claim"', '"wrote"', '"made"', '"drill"', '"files"', '"entry"', '"sha256"', '"tracks"'),
        *('"mails"', "null", "[]", "{}", "1", "[1, 2]", '"\\ud800"', "[" * 5000, "9" * 5000),
        *('{"claim": ["../home/diary.txt"]}\n', '{"wrote": {"/etc/passwd": []}}\n'),
    )
)


def case(chance: Random) -> bytes:
    """One file; its name stands on the first line."""
    name = chance.choice((JOURNAL, JOURNAL, MANIFEST_FILE, SENT_FILE))
    sound = SOUND_ONES[name]
    match chance.randrange(4):
        case 0:
            raw = chance.randbytes(chance.randrange(300))
        case 1:
            raw = lines_moved(slipped(sound, chance, WORDS), chance)
        case _:
            raw = slipped(sound, chance, WORDS)
    return name.encode() + b"\n" + raw


def attempt(raw: bytes, folder: Path) -> str:
    """Build in the folder that holds it; what is somebody's, inside and beside, stays."""
    out, home = folder / "out", folder / "home"
    for each in (out, home):
        shutil.rmtree(each, ignore_errors=True)
    files = {out / OURS: "sound", out / SOMEBODYS: "mine", home / "diary.txt": "mine too"}
    for path, text in files.items():
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text)
    (out / RECORD_FOLDER).mkdir()
    name, _, content = raw.partition(b"\n")
    if name.decode() == MANIFEST_FILE:
        (out / RECORD_FOLDER / JOURNAL).write_bytes(b"damage\n")  # so that the manifest is asked
    place = out if name.decode() == MANIFEST_FILE else out / RECORD_FOLDER
    (place / name.decode()).write_bytes(content)
    try:
        outcome = _build(out)
    except PlayalongError as error:
        assert_told(error, out)
        outcome = "told"
    assert (out / SOMEBODYS).read_text() == "mine"
    assert {path.name: path.read_text() for path in home.iterdir()} == {"diary.txt": "mine too"}
    assert sorted(path.name for path in folder.iterdir()) == ["home", "out"]
    return outcome


def _build(out: Path) -> str:
    with opened(out) as record:
        record.belongs_to(**DRILL)
        record.claim([OURS, NEW])
        made = record.kept("one", "f")
        write_text(out / NEW, "new", record.settle)
        cleared = record.clear(wanted=[OURS, NEW])
        record.close({"one": made} if made else {}, cleared.removed)
    with opened(out) as record:  # whatever it was, it is sound now
        assert not any("damaged" in remark for remark in record.remarks)
    Sent(out)
    return "mended" if list((out / RECORD_FOLDER).glob("*.kept-*")) else "read"
