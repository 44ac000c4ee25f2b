"""SoundFonts with slips, and with tables that contradict each other; loaded in a child."""

from __future__ import annotations

import struct
from functools import cache
from pathlib import Path
from random import Random

from hostile.trial import assert_told
from hostile.writing import slipped
from sound.sinebank import sine_bank_bytes

from playalong.errors import PlayalongError
from playalong.sound import bankload
from playalong.sound.bankcheck import measure_bank

LIMIT_SECONDS = 2 * bankload.LIMIT_SECONDS + 2  # one child loads it, another measures it
TABLES = (b"phdr", b"pbag", b"pmod", b"pgen", b"inst", b"ibag", b"imod", b"igen", b"shdr")
WORDS = (
    *TABLES,
    *(struct.pack("<I", number) for number in (0, 1, 38, 2**16, 2**31 - 1, 2**31, 2**32 - 1)),
    *(struct.pack("<Hh", number, -1) for number in (41, 43, 44, 53, 54, 58)),
)
MEASURED = 0.1  # of the banks that load


@cache
def sound_ones() -> tuple[bytes, ...]:
    return tuple(sine_bank_bytes(zones=zones) for zones in (1, 3))


def case(chance: Random) -> bytes:
    """One bank; its first byte says whether it is measured too."""
    raw = bytearray(chance.choice(sound_ones()))
    tables = raw.index(b"pdta")
    match chance.randrange(6):
        case 0:  # a table of another length
            at = raw.index(chance.choice(TABLES)) + 4
            raw[at : at + 4] = chance.choice(WORDS[len(TABLES) :])[:4]
        case 1 | 2 | 3:  # numbers in the tables
            for _ in range(chance.choice((1, 1, 2, 5, 20))):
                raw[chance.randrange(tables, len(raw))] = chance.randrange(256)
        case 4:  # anywhere in the tables, with their lengths left to lie
            raw[tables:] = slipped(bytes(raw[tables:]), chance, WORDS)
        case _:
            raw = bytearray(slipped(bytes(raw), chance, WORDS))
    raw[4:8] = struct.pack("<I", max(0, len(raw) - 8))  # so that it gets as far as FluidSynth
    return bytes([chance.random() < MEASURED]) + bytes(raw)


def attempt(raw: bytes, folder: Path) -> str:
    bank = folder / "bank.sf2"
    bank.write_bytes(raw[1:])
    bankload._fault.cache_clear()  # size and time may be those of the case before
    try:
        bankload.check_bank(bank)
        if raw[0]:
            measure_bank(bank, 0)
            return "measured"
    except PlayalongError as error:
        assert_told(error, bank)
        return "crashed a child" if "crashes" in str(error) else "told"
    return "loaded"
