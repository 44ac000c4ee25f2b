"""Scores of every kind that are cut, flipped, nested, packed and encoded as nobody should."""

from __future__ import annotations

import io
import re
import sys
import time
import zipfile
from fractions import Fraction
from pathlib import Path
from random import Random

from hostile.trial import assert_told
from hostile.writing import lines_moved, slipped
from midi_scores import key_signature, meter, midi, row, track

sys.path.insert(0, str(Path(__file__).parents[1] / "passage"))
from test_readers_agree import TEXTS
from typer.testing import CliRunner

from playalong.cli import app
from playalong.errors import PlayalongError
from playalong.passage.container import CONTAINER

LIMIT_SECONDS = 20.0  # some are sound, and of thousands of notes
REFUSED_SECONDS = 2.0
LARGEST_BOMB, LARGEST_HEAP = 80_000_000, 30_000  # bytes unpacked, and of one piece repeated
BOX = '<container><rootfiles><rootfile full-path="a.xml"/></rootfiles></container>'
FIRST = {name: text.encode() for name, text in TEXTS.items()} | {
    "MIDI": midi(
        track(row([69, 71, 72, 74, 76] * 4, Fraction(1, 2)), meter(3, 4), key_signature("G"))
    )
}
NUMBERS = (b"0", b"-1", b"999999", b"1000000000", b"9" * 400, b"1e99", b"1/0", b"0.0001", b"\xb2")
WORDS = (
    *(b"<note>", b"</note>", b"</measure>", b"<backup><duration>9</duration></backup>", b"<beam>"),
    *(b"<mRpt/>", b'<multiRpt num="9999"/>', b'<multiRest num="499"/>', b"<app><rdg>", b"<chord/>"),
    *(b'<tuplet num="997" numbase="1">', b"&lol;", b"<![CDATA[", b"<!--", b"<?xml?>", b"\xff\xfe"),
    *(b"<!DOCTYPE a [<!ENTITY lol 'x'>]>", b'dur="0"', b"<time><beats>0</beats></time>"),
    *(b"(9", b"[", b"]", b"|:", b"Z99", b"K:G#", b"L:1/9999", b"&", b"A999999", b"V:2\n", b"X:1\n"),
    *(
        b"*^\n",
        b"*v\t*v\n",
        b"4g\t4a\n",
        b"**kern\t",
        b"=\n",
        b"997%3g",
        b"*M0/4",
        b"MThd",
        b"MTrk",
    ),
)
ENCODINGS = ("utf-16", "utf-16-le", "utf-32", "cp037", "utf-8-sig", "shift_jis")


def case(chance: Random) -> bytes:
    """One score: damaged in one of seven ways, and packed as .mxl now and then."""
    raw = FIRST[chance.choice(list(FIRST))]
    match chance.randrange(7):
        case 0:
            raw = raw[: chance.randrange(len(raw))]
        case 1:
            flipped = bytearray(raw)
            for _ in range(chance.choice((1, 2, 8, 64))):
                flipped[chance.randrange(len(raw))] ^= 1 << chance.randrange(8)
            raw = bytes(flipped)
        case 2:
            piece, at = chance.choice(WORDS), chance.randrange(len(raw))
            raw = raw[:at] + piece * (chance.choice((99, 5_000, LARGEST_HEAP // len(piece))))
            raw += FIRST["MusicXML"][at:]
        case 3:
            raw = re.sub(
                rb"\d+", lambda old: chance.choice((old[0],) * 9 + NUMBERS), raw, flags=re.ASCII
            )
        case 4:
            raw = raw.decode("latin-1").encode(chance.choice(ENCODINGS), "replace")
        case 5:
            raw = slipped(raw, chance, WORDS, donor=FIRST[chance.choice(list(FIRST))])
        case _:
            raw = lines_moved(raw.replace(b">", b">\n"), chance)
    return _packed(raw, chance) if chance.random() < 0.15 else raw


def _packed(raw: bytes, chance: Random) -> bytes:
    """As .mxl, some of which are bombs, are cut or have flipped bits."""
    stream, kind = io.BytesIO(), chance.choice((zipfile.ZIP_DEFLATED, zipfile.ZIP_STORED))
    with zipfile.ZipFile(stream, "w") as archive:
        archive.writestr(zipfile.ZipInfo(CONTAINER), BOX)  # at the same hour, whenever it is
        is_bomb = kind == zipfile.ZIP_DEFLATED and chance.random() < 0.2
        archive.writestr(zipfile.ZipInfo("a.xml"), raw + b" " * (LARGEST_BOMB * is_bomb), kind)
    whole = bytearray(stream.getvalue())
    if chance.random() < 0.5:
        whole[chance.randrange(len(whole))] ^= 1 << chance.randrange(8)
    return bytes(
        whole[: chance.choice((len(whole), len(whole), chance.randrange(len(whole)))) or 4]
    )


def attempt(raw: bytes, folder: Path) -> str:
    """Through the command; what is refused leaves nothing."""
    score, out = folder / "score.xml", folder / "out"
    score.write_bytes(raw)
    words = ["passage", str(score), "--part", "1", "--voice", "top", "--shifts", "1"]
    began = time.process_time()
    made = CliRunner().invoke(
        app, [*words, "--instrument", "violin", "--key", "G major", "-o", str(out)]
    )
    seconds, error = time.process_time() - began, made.exception
    if error is None:
        for file in out.iterdir():
            file.unlink()
        out.rmdir()
        return "read"
    if not isinstance(error, PlayalongError):
        raise error
    assert seconds < REFUSED_SECONDS
    assert not out.exists()
    assert error.exit_status == 2, error
    said = str(error)
    assert "\n" not in said, said
    if not said.startswith("--"):
        assert_told(error, score)
    return "told"
