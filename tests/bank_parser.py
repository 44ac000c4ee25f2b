"""A reader of SoundFont 2.04 files, made from the standard alone (chapters 4 and 7)."""

from __future__ import annotations

import struct
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

FOLDER = Path(__file__).parents[1] / "soundfonts"
BANK = FOLDER / "playalong.sf2"
PDTA = ["phdr", "pbag", "pmod", "pgen", "inst", "ibag", "imod", "igen", "shdr"]


class PresetHeader(NamedTuple):
    name: bytes
    preset: int
    bank: int
    bag: int
    library: int
    genre: int
    morphology: int


class Bag(NamedTuple):
    gen: int
    mod: int


class Mod(NamedTuple):
    source: int
    target: int
    amount: int
    amount_source: int
    transform: int


class Gen(NamedTuple):
    number: int
    amount: int  # signed


class Inst(NamedTuple):
    name: bytes
    bag: int


class Header(NamedTuple):
    name: bytes
    start: int
    end: int
    loop_start: int
    loop_end: int
    rate: int
    root_key: int
    correction: int
    link: int
    kind: int


LAYOUTS: dict[str, tuple[str, type]] = {
    "phdr": ("<20sHHHIII", PresetHeader),
    "pbag": ("<HH", Bag),
    "pmod": ("<HHhHH", Mod),
    "pgen": ("<Hh", Gen),
    "inst": ("<20sH", Inst),
    "ibag": ("<HH", Bag),
    "imod": ("<HHhHH", Mod),
    "igen": ("<Hh", Gen),
    "shdr": ("<20sIIIIIBbHH", Header),
}


def text(raw: bytes) -> str:
    return raw.split(b"\0")[0].decode("ascii")


def chunks(data: bytes) -> list[tuple[str, bytes]]:
    """(name, body) of each chunk in a row; chunks start on even bytes (RIFF)."""
    found, at = [], 0
    while at < len(data):
        name, size = data[at : at + 4].decode("ascii"), struct.unpack_from("<I", data, at + 4)[0]
        assert at + 8 + size <= len(data), f"{name} runs beyond its parent"
        found.append((name, data[at + 8 : at + 8 + size]))
        at += 8 + size + size % 2
    return found


@dataclass(frozen=True)
class Parsed:
    lists: list[str]
    info: dict[str, bytes]
    pdta: dict[str, bytes]
    points: NDArray[np.int16]

    def records(self, name: str) -> list:
        layout, kind = LAYOUTS[name]
        return [kind(*fields) for fields in struct.iter_unpack(layout, self.pdta[name])]

    def samples(self) -> list[Header]:
        return self.records("shdr")[:-1]

    def loops(self) -> list[Header]:
        """Samples that a zone plays as a loop (sampleModes 1, 8.1.2)."""
        return self._looped({dict(zone)[53] for zone in self._notes() if dict(zone)[54] == 1})

    def tones(self) -> list[Header]:
        """Loops that follow the keys: all but noise, whose scale tuning (56) is 0."""
        looped = [dict(zone) for zone in self._notes()]
        return self._looped({zone[53] for zone in looped if zone[54] == 1 and 56 not in zone})

    def _notes(self) -> list[list[Gen]]:
        return [gens for instrument in self.zones("i") for gens, _ in instrument[1:]]

    def _looped(self, places: set[int]) -> list[Header]:
        return [self.samples()[place] for place in sorted(places)]

    def zones(self, side: str) -> list[list[tuple[list[Gen], list[Mod]]]]:
        """Zones (generators, modulators) of each preset ("p") or instrument ("i")."""
        owners = self.records("phdr" if side == "p" else "inst")
        bags, gens, mods = (self.records(side + kind) for kind in ("bag", "gen", "mod"))
        parts = [
            (gens[bag.gen : after.gen], mods[bag.mod : after.mod]) for bag, after in pairwise(bags)
        ]
        return [parts[owner.bag : after.bag] for owner, after in pairwise(owners)]


def parse(path: Path = BANK) -> Parsed:
    ((outer, body),) = chunks(path.read_bytes())
    assert (outer, body[:4]) == ("RIFF", b"sfbk")
    lists = chunks(body[4:])
    assert all(name == "LIST" for name, _ in lists)
    inside = {part[:4].decode("ascii"): chunks(part[4:]) for _, part in lists}
    (smpl,) = inside["sdta"]
    return Parsed(
        lists=[part[:4].decode("ascii") for _, part in lists],
        info=dict(inside["INFO"]),
        pdta=dict(inside["pdta"]),
        points=np.frombuffer(smpl[1], dtype="<i2"),
    )
