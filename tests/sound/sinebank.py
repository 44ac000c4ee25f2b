"""A SoundFont packed by hand from the standard (SoundFont 2.04, sections 4 to 8): one sine.

No voice of it wavers, so whatever moves in a render is the renderer's doing.
"""

from __future__ import annotations

import struct
from pathlib import Path

import numpy as np

ROOT_KEY = 69
ROOT_HZ = 440.0  # of the sample when played at its own rate
SAMPLE_RATE_HZ = 44_000  # whole number, and so is the period: 100 frames
PERIODS = 40
MARGIN_PERIODS = 1  # before and after the loop
PEAK = 16_000

# Generator numbers, 8.1.2.
INSTRUMENT, SAMPLE_ID, SAMPLE_MODES, PAN = 41, 53, 54, 17
ATTACK, RELEASE, KEY_RANGE = 34, 38, 43


def _chunk(name: bytes, data: bytes) -> bytes:
    return name + struct.pack("<I", len(data)) + data + b"\0" * (len(data) % 2)


def _list(kind: bytes, *chunks: bytes) -> bytes:
    return _chunk(b"LIST", kind + b"".join(chunks))


def sine_bank_bytes(
    periods_in_100_frames: int = 1,
    pitch_correction: int = 0,
    root_key: int = ROOT_KEY,
    zones: int = 1,
    only_key: int | None = None,
) -> bytes:
    """One preset (bank 0, program 0) and the same as a percussion kit (bank 128, program 0).

    Preset and instrument have so many `zones`, all alike: a note starts zones · zones voices, if
    it is the `only_key` that sounds.
    """
    frames = np.arange(100 * (PERIODS + 2 * MARGIN_PERIODS))
    sine = PEAK * np.sin(2 * np.pi * periods_in_100_frames * frames / 100)
    sound = np.round(sine).astype("<i2").tobytes() + bytes(2 * 46)  # 46 zeros after it, 6.1
    loop = (100 * MARGIN_PERIODS, 100 * (MARGIN_PERIODS + PERIODS))
    info = _list(
        b"INFO",
        _chunk(b"ifil", struct.pack("<HH", 2, 4)),
        _chunk(b"isng", b"EMU8000\0"),
        _chunk(b"INAM", b"sine bank\0"),
    )
    instrument_generators = [
        (ATTACK, -12000), (RELEASE, -12000), (SAMPLE_MODES, 1), (SAMPLE_ID, 0),
    ]  # fmt: skip
    if only_key is not None:
        instrument_generators.insert(0, (KEY_RANGE, only_key | only_key << 8))
    generators = b"".join(struct.pack("<Hh", *pair) for pair in instrument_generators)
    count = len(instrument_generators)
    header = (b"sine", 0, len(frames), *loop, SAMPLE_RATE_HZ, root_key, pitch_correction, 0, 1)
    pdta = _list(
        b"pdta",
        _chunk(b"phdr", b"".join((
            struct.pack("<20sHHHIII", b"sine", 0, 0, 0, 0, 0, 0),
            struct.pack("<20sHHHIII", b"kit", 0, 128, zones, 0, 0, 0),
            struct.pack("<20sHHHIII", b"EOP", 0, 0, 2 * zones, 0, 0, 0),
        ))),
        _chunk(b"pbag", b"".join(struct.pack("<2H", zone, 0) for zone in range(2 * zones + 1))),
        _chunk(b"pmod", bytes(10)),
        _chunk(b"pgen", struct.pack("<2H", INSTRUMENT, 0) * (2 * zones) + bytes(4)),
        _chunk(b"inst", struct.pack("<20sH", b"sine", 0) + struct.pack("<20sH", b"EOI", zones)),
        _chunk(b"ibag", b"".join(struct.pack("<2H", count * zone, 0) for zone in range(zones + 1))),
        _chunk(b"imod", bytes(10)),
        _chunk(b"igen", generators * zones + bytes(4)),
        _chunk(b"shdr", struct.pack("<20sIIIIIBbHH", *header) + struct.pack("<20s26x", b"EOS")),
    )  # fmt: skip
    return _chunk(b"RIFF", b"sfbk" + info + _list(b"sdta", _chunk(b"smpl", sound)) + pdta)


def write_sine_bank(path: Path, **options: int) -> Path:
    path.write_bytes(sine_bank_bytes(**options))
    return path
