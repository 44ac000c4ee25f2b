"""Make playalong.sf2 from the tables beside this file, the same bytes every time.

    python soundfonts/make_bank.py [OUTPUT.sf2]

Needs numpy. The bank is dedicated to the public domain (LICENSE-CC0.txt).
"""

from __future__ import annotations

import sys
from pathlib import Path

import sf2
from taps import TAPS, sweep, tap
from tones import tone
from voices import VOICES, Voice

# No date: the bytes depend on the recipe alone.
INFO = (
    ("isng", "EMU8000"),
    ("INAM", "playalong"),
    ("ICOP", "CC0 1.0 Universal: no rights reserved"),
    ("ICMT", "Straight-toned reference voices; every loop is true to its key within 0.01 cent."),
    ("ISFT", "make_bank.py"),
)

# CC 73 and 72 as in General MIDI 2: attack and release, neutral at 64. No vibrato from anything.
MODULATORS = (
    sf2.Modulator(sf2.BIPOLAR | sf2.CC_SOURCE | 73, sf2.ATTACK_VOL_ENV, 2400),
    sf2.Modulator(sf2.BIPOLAR | sf2.CC_SOURCE | 72, sf2.RELEASE_VOL_ENV, 3600),
    sf2.Modulator(sf2.CC_SOURCE | 1, sf2.VIB_LFO_TO_PITCH, 0),
    sf2.Modulator(sf2.CHANNEL_PRESSURE, sf2.VIB_LFO_TO_PITCH, 0),
)
PERCUSSION_BANK = 128
RING_SECONDS = 2.0  # a tap rings to its end, however short its note


def voice_preset(voice: Voice) -> sf2.Preset:
    """Each sample serves the keys nearest to its root; the outer ones stretch to 0 and 127."""
    roots = range(voice.lowest_root, voice.highest_root + 1, voice.step)
    zones = []
    for root in roots:
        low = 0 if root == roots[0] else root - (voice.step - 1) // 2
        high = 127 if root == roots[-1] else root + voice.step // 2
        zones.append(sf2.Zone(tone(voice, root), low, high, sf2.LOOP))
    generators = (
        (sf2.ATTACK_VOL_ENV, sf2.timecents(voice.attack_seconds)),
        (sf2.RELEASE_VOL_ENV, sf2.timecents(voice.release_seconds)),
    )
    return sf2.Preset(voice.name, 0, voice.program, generators, MODULATORS, tuple(zones))


def percussion_preset() -> sf2.Preset:
    samples = sorted([sweep(), *map(tap, TAPS)], key=lambda sample: sample.root_key)
    zones = tuple(sf2.Zone(one, one.root_key, one.root_key, sf2.NO_LOOP) for one in samples)
    generators = ((sf2.RELEASE_VOL_ENV, sf2.timecents(RING_SECONDS)),)
    return sf2.Preset("Clicks", PERCUSSION_BANK, 0, generators, (), zones)


def bank() -> bytes:
    """The whole file."""
    return sf2.bank_bytes([*map(voice_preset, VOICES), percussion_preset()], INFO)


if __name__ == "__main__":
    beside = Path(__file__).with_name("playalong.sf2")
    output = Path(sys.argv[1]) if len(sys.argv) > 1 else beside
    output.write_bytes(bank())
    print(f"{output}: {output.stat().st_size:,} bytes")
