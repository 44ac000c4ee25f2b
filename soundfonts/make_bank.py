"""Make playalong.sf2 from the tables beside this file, the same bytes every time.

    python soundfonts/make_bank.py [OUTPUT.sf2]

Needs numpy and playalong. The bank is dedicated to the public domain (LICENSE-CC0.txt).
"""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from functools import partial
from pathlib import Path

import sf2
from taps import TAPS, sweep, tap
from tones import bare_noise, bare_noise_softening_db, bare_string, bow_noise, tone
from voices import VOICES, Voice

from playalong.sound.bodies import BARE_BANK

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
# Noise has the same pitch on every key, and no bend moves it.
NO_KEY = ((sf2.SCALE_TUNING, 0),)
NO_BEND = (sf2.Modulator(sf2.PITCH_WHEEL, sf2.INITIAL_PITCH, 0, sf2.PITCH_WHEEL_RANGE),)
# Bare voices are for our renderer alone, and it takes a bank's attenuation at 0.4 of its value.
FLUIDSYNTH_ATTENUATION = 0.4
PERCUSSION_BANK = 128
RING_SECONDS = 2.0  # a tap rings to its end, however short its note


def zones_of(roots: range, sample: Callable[[int], sf2.Sample]) -> list[sf2.Zone]:
    """Each sample serves the keys nearest to its root; the outer ones stretch to 0 and 127."""
    zones = []
    for root in roots:
        low = 0 if root == roots[0] else root - (roots.step - 1) // 2
        high = 127 if root == roots[-1] else root + roots.step // 2
        zones.append(sf2.Zone(sample(root), low, high, sf2.LOOP))
    return zones


def envelope(voice: Voice) -> tuple[tuple[int, int], ...]:
    return (
        (sf2.ATTACK_VOL_ENV, sf2.timecents(voice.attack_seconds)),
        (sf2.RELEASE_VOL_ENV, sf2.timecents(voice.release_seconds)),
    )


def full_preset(voice: Voice) -> sf2.Preset:
    """A voice as any synthesizer plays it; a bowed one has its noise laid over all keys."""
    roots = range(voice.lowest_root, voice.highest_root + 1, voice.step)
    zones = zones_of(roots, partial(tone, voice))
    if voice.is_bowed:
        zones.append(sf2.Zone(bow_noise(voice), 0, 127, sf2.LOOP, NO_KEY, NO_BEND))
    return sf2.Preset(voice.name, 0, voice.program, envelope(voice), MODULATORS, tuple(zones))


def bare_presets() -> Iterator[sf2.Preset]:
    """The bowed voices without their bodies. Strings and noise are shared by all of them."""
    bowed = [voice for voice in VOICES if voice.is_bowed]
    low, high = min(v.lowest_root for v in bowed), max(v.highest_root for v in bowed)
    strings = zones_of(range(low, high + 1), bare_string)
    noise = bare_noise()
    for voice in bowed:
        name = f"{voice.name} bare"
        zones = (*strings, *bare_noise_zones(voice, noise))
        yield sf2.Preset(name, BARE_BANK, voice.program, envelope(voice), MODULATORS, zones)


def bare_noise_zones(voice: Voice, noise: sf2.Sample) -> Iterator[sf2.Zone]:
    """The bare noise as loud against the string in every key, once both are behind the body."""
    keys = range(voice.lowest_root, voice.highest_root + 1)
    for key in keys:
        softer_db = bare_noise_softening_db(voice.body, key)
        centibels = round(10 * softer_db / FLUIDSYNTH_ATTENUATION)
        low, high = 0 if key == keys[0] else key, 127 if key == keys[-1] else key
        generators = ((sf2.ATTENUATION, centibels), *NO_KEY)
        yield sf2.Zone(noise, low, high, sf2.LOOP, generators, NO_BEND)


def percussion_preset() -> sf2.Preset:
    samples = sorted([sweep(), *map(tap, TAPS)], key=lambda sample: sample.root_key)
    zones = tuple(sf2.Zone(one, one.root_key, one.root_key, sf2.NO_LOOP) for one in samples)
    generators = ((sf2.RELEASE_VOL_ENV, sf2.timecents(RING_SECONDS)),)
    return sf2.Preset("Clicks", PERCUSSION_BANK, 0, generators, (), zones)


def bank() -> bytes:
    """The whole file."""
    presets = [*map(full_preset, VOICES), *bare_presets(), percussion_preset()]
    return sf2.bank_bytes(presets, INFO)


if __name__ == "__main__":
    beside = Path(__file__).with_name("playalong.sf2")
    output = Path(sys.argv[1]) if len(sys.argv) > 1 else beside
    output.write_bytes(bank())
    print(f"{output}: {output.stat().st_size:,} bytes")
