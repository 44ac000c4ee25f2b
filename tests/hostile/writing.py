"""How hostile files come about: sound ones with slips, cuts, copies and foreign bytes."""

from __future__ import annotations

from collections.abc import Sequence
from random import Random

MOST_SLIPS = 6
LONGEST_HEAP = 60_000  # bytes, of one piece repeated
FOREIGN = (
    b"\0", b"\n", b"\r\n", b"\t", b" ", b'"', b"'", b'"""', b"'''", b"\\", b"[", b"]", b"[[", b"{",
    b"}", b"=", b".", b",", b"#", b"-1", b"0", b"1e400", b"nan", b"inf", b"9" * 40, b"0x", b"true",
    b"../", b"\xff", b"\xc3", b"\xed\xa0\x80", b"\xef\xbb\xbf", b"\x1b[2J", "é".encode(),
    "♯".encode(), "\u202e".encode(), "\u2028".encode(), "\U0001f3bb".encode(), "²".encode(),
)  # fmt: skip


def slipped(raw: bytes, chance: Random, words: Sequence[bytes], donor: bytes = b"") -> bytes:
    """A file with some slips. `words` are those of its language; `donor` is another such file."""
    text = bytearray(raw)
    for _ in range(chance.randint(1, MOST_SLIPS)):
        start = chance.randint(0, len(text))
        end = min(len(text), start + chance.choice((0, 0, 1, 1, 2, 5, 20, 100)))
        piece = bytes(text[start:end])
        match chance.randrange(8):
            case 0:
                text[start:end] = b""
            case 1:
                text[start:end] = chance.choice(FOREIGN)
            case 2 | 3:
                text[start:end] = chance.choice(words)
            case 4:
                text[start:end] = piece * 2
            case 5:
                text[start:end] = chance.randbytes(chance.randint(1, 4))
            case 6 if donor:
                other = chance.randint(0, len(donor))
                text[start:end] = donor[other : other + 40]
            case 7 if chance.random() < 0.1:
                heap = piece or chance.choice(words)
                text[start:end] = heap * chance.randint(1, LONGEST_HEAP // len(heap))
    return bytes(text)


def lines_moved(raw: bytes, chance: Random) -> bytes:
    """The lines of a file in another order, some doubled, some left out."""
    lines = raw.split(b"\n")
    return b"\n".join(chance.choices(lines, k=len(lines)))
