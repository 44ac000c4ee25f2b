"""SoundFont 2.04 records: a bank of mono samples, one instrument for each preset, as bytes.

Source: SoundFont Technical Specification 2.04, chapters 4 to 8 (record layouts in 7.2 to 7.10,
generator numbers in 8.1.2, modulators in 8.2 to 8.4).
"""

from __future__ import annotations

import math
import struct
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

ATTACK_VOL_ENV, RELEASE_VOL_ENV, VIB_LFO_TO_PITCH = 34, 38, 6
INSTRUMENT, KEY_RANGE, SAMPLE_ID, SAMPLE_MODES = 41, 43, 53, 54
ATTENUATION, SCALE_TUNING = 48, 56
INITIAL_PITCH = 52  # the standard gives it no number; FluidSynth takes that of the fine tune
LOOP, NO_LOOP = 1, 0
CC_SOURCE, BIPOLAR = 0x0080, 0x0200  # flags of a modulator source; type 0 is linear
CHANNEL_PRESSURE = 0x000D
PITCH_WHEEL, PITCH_WHEEL_RANGE = 0x020E, 0x0010

GUARD_POINTS = 46  # zeros after each sample (7.10)
LOOP_MARGIN_POINTS = 8  # valid points before a loop and after it (7.10)


@dataclass(frozen=True)
class Modulator:
    """`source` moves the generator `target` by `amount`, in that generator's unit."""

    source: int
    target: int
    amount: int
    scaled_by: int = 0  # a second source, or none


@dataclass(frozen=True, eq=False)
class Sample:
    """Mono points (int16) that sound `root_key` at `rate_hz`; the loop ends before `loop_end`."""

    name: str
    root_key: int
    rate_hz: int
    points: NDArray[np.int16]
    loop_start: int
    loop_end: int

    def __post_init__(self) -> None:
        if not 400 <= self.rate_hz <= 50_000:
            raise ValueError(f"{self.name}: {self.rate_hz} Hz is no advised sample rate")
        if self.loop_start < LOOP_MARGIN_POINTS or self.loop_end - self.loop_start < 32:
            raise ValueError(f"{self.name}: the loop starts too early or is too short")
        if len(self.points) - self.loop_end < LOOP_MARGIN_POINTS:
            raise ValueError(f"{self.name}: the loop ends too near the end of the sample")


@dataclass(frozen=True)
class Zone:
    """One sample over the keys from `low_key` to `high_key`, both included."""

    sample: Sample
    low_key: int
    high_key: int
    mode: int
    generators: tuple[tuple[int, int], ...] = ()  # of this zone alone, as are its modulators
    modulators: tuple[Modulator, ...] = ()


@dataclass(frozen=True)
class Preset:
    """A preset and the one instrument that it plays; `generators` hold for all its zones."""

    name: str
    bank: int
    program: int
    generators: tuple[tuple[int, int], ...]
    modulators: tuple[Modulator, ...]
    zones: tuple[Zone, ...]


def timecents(seconds: float) -> int:
    """1200 · log2(seconds), rounded (8.1.2)."""
    return round(1200 * math.log2(seconds))


def bank_bytes(presets: Sequence[Preset], info: Sequence[tuple[str, str]]) -> bytes:
    """The whole file: `info` gives the text chunks (isng and INAM among them) in order."""
    samples = list(dict.fromkeys(zone.sample for preset in presets for zone in preset.zones))
    body = b"sfbk" + _info(info) + _sample_data(samples) + _records(presets, samples)
    return _chunk("RIFF", body)


def _chunk(name: str, body: bytes) -> bytes:
    return name.encode("ascii") + struct.pack("<I", len(body)) + body + b"\0" * (len(body) % 2)


def _list(kind: str, *chunks: bytes) -> bytes:
    return _chunk("LIST", kind.encode("ascii") + b"".join(chunks))


def _name(text: str) -> bytes:
    """20 bytes, at least the last of them zero."""
    raw = text.encode("ascii")
    if len(raw) > 19:
        raise ValueError(f'"{text}" is longer than the 19 letters a record holds')
    return raw.ljust(20, b"\0")


def _info(texts: Sequence[tuple[str, str]]) -> bytes:
    chunks = [_chunk("ifil", struct.pack("<HH", 2, 4))]
    for name, text in texts:
        raw = text.encode("ascii") + b"\0"
        chunks.append(_chunk(name, raw + b"\0" * (len(raw) % 2)))
    return _list("INFO", *chunks)


def _sample_data(samples: Sequence[Sample]) -> bytes:
    guard = b"\0\0" * GUARD_POINTS
    points = b"".join(sample.points.astype("<i2").tobytes() + guard for sample in samples)
    return _list("sdta", _chunk("smpl", points))


def _records(presets: Sequence[Preset], samples: Sequence[Sample]) -> bytes:
    """The nine pdta chunks in their order, each with its terminal record."""
    phdr, pbag, pgen = bytearray(), bytearray(), bytearray()
    inst, ibag, imod, igen = bytearray(), bytearray(), bytearray(), bytearray()
    no_modulator = struct.pack("<HHhHH", 0, 0, 0, 0, 0)
    places = {sample: place for place, sample in enumerate(samples)}

    def preset_zone() -> None:
        pbag.extend(struct.pack("<HH", len(pgen) // 4, 0))

    def instrument_zone() -> None:
        ibag.extend(struct.pack("<HH", len(igen) // 4, len(imod) // 10))

    def generator(chunk: bytearray, number: int, amount: int) -> None:
        chunk.extend(struct.pack("<Hh", number, amount))

    def modulator(one: Modulator) -> None:
        fields = (one.source, one.target, one.amount, one.scaled_by, 0)
        imod.extend(struct.pack("<HHhHH", *fields))

    def preset_header(name: str, bank: int, program: int) -> None:
        bag = len(pbag) // 4
        phdr.extend(_name(name) + struct.pack("<HHHIII", program, bank, bag, 0, 0, 0))

    for index, preset in enumerate(sorted(presets, key=lambda one: (one.bank, one.program))):
        preset_header(preset.name, preset.bank, preset.program)
        preset_zone()
        generator(pgen, INSTRUMENT, index)

        inst.extend(_name(preset.name) + struct.pack("<H", len(ibag) // 4))
        instrument_zone()  # the global zone: it ends without a sample
        for number, amount in preset.generators:
            generator(igen, number, amount)
        for each in preset.modulators:
            modulator(each)
        for zone in preset.zones:
            instrument_zone()
            igen.extend(struct.pack("<HBB", KEY_RANGE, zone.low_key, zone.high_key))
            for number, amount in zone.generators:
                generator(igen, number, amount)
            for each in zone.modulators:
                modulator(each)
            generator(igen, SAMPLE_MODES, zone.mode)
            generator(igen, SAMPLE_ID, places[zone.sample])

    preset_header("EOP", 0, 0)
    preset_zone()
    inst.extend(_name("EOI") + struct.pack("<H", len(ibag) // 4))
    instrument_zone()
    generator(pgen, 0, 0)
    generator(igen, 0, 0)
    imod.extend(no_modulator)
    return _list(
        "pdta",
        _chunk("phdr", bytes(phdr)),
        _chunk("pbag", bytes(pbag)),
        _chunk("pmod", no_modulator),
        _chunk("pgen", bytes(pgen)),
        _chunk("inst", bytes(inst)),
        _chunk("ibag", bytes(ibag)),
        _chunk("imod", bytes(imod)),
        _chunk("igen", bytes(igen)),
        _chunk("shdr", _sample_headers(samples)),
    )


def _sample_headers(samples: Sequence[Sample]) -> bytes:
    headers, start, mono = bytearray(), 0, 1
    for sample in samples:
        end = start + len(sample.points)
        places = (start, end, start + sample.loop_start, start + sample.loop_end)
        fields = struct.pack("<IIIIIBbHH", *places, sample.rate_hz, sample.root_key, 0, 0, mono)
        headers.extend(_name(sample.name) + fields)
        start = end + GUARD_POINTS
    headers.extend(_name("EOS") + bytes(26))
    return bytes(headers)
