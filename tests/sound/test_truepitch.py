"""Whole cents whose mean is the pitch wanted, and the bends that make them sound."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from playalong.sound.truepitch import BendLaw, bend_law, whole_cents


def per_block(wanted: list[tuple[int, float]], total_blocks: int) -> list[int]:
    """What sounds in each block."""
    changes = dict(whole_cents(wanted, total_blocks))
    sounding, blocks = 0, []
    for block in range(total_blocks):
        sounding = changes.get(block, sounding)
        blocks.append(sounding)
    return blocks


def test_fluidsynth_bends_by_127_of_128_and_cuts_to_whole_cents() -> None:
    # fluid_mod.c: amount 12700 × range/128, against the standard's 12800; fluid_conv.c: the cut.
    law = bend_law()
    assert law.scale == pytest.approx(127 / 128, abs=1e-4)
    assert law.lift_cents == 0.5


@given(st.floats(-1200, 1200), st.integers(400, 2000))
def test_the_mean_of_a_held_pitch_is_the_pitch(cents: float, blocks: int) -> None:
    blocks -= blocks % 4
    assert sum(per_block([(0, cents)], blocks)) / blocks == pytest.approx(cents, abs=4 / blocks)


@given(st.floats(-1200, 1200))
def test_a_held_pitch_keeps_to_the_two_cents_around_it(cents: float) -> None:
    assert set(per_block([(0, cents)], 500)) <= {math.floor(cents), math.floor(cents) + 1}


@given(st.integers(-1200, 1200))
def test_a_pitch_of_whole_cents_is_sent_once(cents: int) -> None:
    assert list(whole_cents([(0, float(cents))], 10_000)) == [(0, cents)]


@given(st.lists(st.floats(-1200, 1200), min_size=2, max_size=300))
def test_a_moving_pitch_is_never_owed_more_than_a_cent(curve: list[float]) -> None:
    sounding = per_block(list(enumerate(curve)), len(curve))
    owed = 0.0
    for wanted, heard in zip(curve, sounding, strict=True):
        owed += wanted - heard
        assert abs(owed) <= 0.5 + 1e-6


def test_held_channels_step_together_whenever_they_began() -> None:
    steps = [block for block, _ in whole_cents([(0, 0.0), (7, 0.4)], 400) if block > 7]
    assert steps
    assert all(block % 4 == 0 for block in steps)


@given(st.integers(-1150, 1150))
def test_each_bend_sounds_its_whole_cent(cents: int) -> None:
    law = BendLaw(127 / 128, 0.5)
    reach = law.range_semitones(1200)
    nominal = (law.bend(cents, reach) - 8192) * 100 * reach / 8192
    assert math.floor(nominal * 127 / 128) == cents


def test_a_range_reaches_what_it_is_asked_for_and_fluidsynth_takes_it() -> None:
    law = BendLaw(127 / 128, 0.5)
    assert law.range_semitones(0) == 2
    assert law.range_semitones(1200) == 13
    assert law.range_semitones(12_700) == 72
