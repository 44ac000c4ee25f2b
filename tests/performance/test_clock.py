"""One clock: ticks, blocks and seconds that lead to each other without drift."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from playalong.performance.clock import (
    BLOCK_FRAMES,
    SAMPLE_RATE_HZ,
    Clock,
    block_of_tick,
    block_seconds,
)

BLOCK_SECONDS = Fraction(BLOCK_FRAMES, SAMPLE_RATE_HZ)
tempi = st.fractions(5, 960, max_denominator=8)  # quarters a minute that drills can ask for


@given(tempi, st.integers(0, 10**6))
def test_the_tick_of_a_block_leads_back_to_the_block(tempo: Fraction, block: int) -> None:
    clock = Clock.at(tempo)
    tick = clock.tick_of_block(block)
    assert block_of_tick(tick, clock.microseconds, clock.ticks_per_quarter) == block


@given(tempi)
def test_a_tick_is_never_longer_than_a_block(tempo: Fraction) -> None:
    clock = Clock.at(tempo)
    tick_seconds = Fraction(clock.microseconds, 1_000_000 * clock.ticks_per_quarter)
    assert tick_seconds <= BLOCK_SECONDS
    assert clock.ticks_per_quarter % 960 == 0
    assert clock.ticks_per_quarter < 1 << 15  # what the file's header holds
    assert clock.microseconds < 1 << 24  # what a set-tempo event holds


@given(tempi, st.integers(0, 960 * 4000))
def test_an_event_is_heard_within_half_a_block_of_its_written_time(
    tempo: Fraction, part: int
) -> None:
    clock = Clock.at(tempo)
    quarters = Fraction(part, 960)
    exact = quarters * clock.microseconds / 1_000_000
    assert abs(clock.block(quarters) * BLOCK_SECONDS - exact) <= BLOCK_SECONDS / 2
    assert clock.seconds(quarters) == block_seconds(clock.block(quarters))


@given(tempi, st.floats(0, 100))
def test_a_length_in_seconds_is_the_same_length_in_quarters(
    tempo: Fraction, seconds: float
) -> None:
    clock = Clock.at(tempo)
    assert clock.quarters(seconds) * clock.microseconds == Fraction(seconds) * 1_000_000


def test_a_tick_halfway_between_two_blocks_goes_to_the_later() -> None:
    # one tick of 441 a quarter, a quarter of 320 000 us, is half a block: 32 frames
    assert block_of_tick(1, 320_000, 441) == 1
    assert block_of_tick(3, 320_000, 441) == 2


@pytest.mark.parametrize(
    ("quarters_per_minute", "ticks"), [(60, 960), (44, 960), (43, 1920), (20, 3840), (5, 15360)]
)
def test_slow_tempi_take_finer_ticks(quarters_per_minute: int, ticks: int) -> None:
    assert Clock.at(Fraction(quarters_per_minute)).ticks_per_quarter == ticks


def test_septuplets_and_their_kin_have_ticks_of_their_own() -> None:
    sevenths = Clock.at(Fraction(60), [Fraction(1, 7), Fraction(3, 8)])
    assert (sevenths.ticks_per_quarter, sevenths.tick(Fraction(3, 7))) == (6720, 2880)
    assert Clock.at(Fraction(60), [Fraction(1, 3), Fraction(1, 960)]).ticks_per_quarter == 960


@given(tempi, st.lists(st.fractions(0, 64, max_denominator=960)))
def test_any_length_is_heard_within_a_block_of_its_written_time(
    tempo: Fraction, times: list[Fraction]
) -> None:
    """To the nearest block where the file's header can hold its tick (15 bits)."""
    clock = Clock.at(tempo, times)
    assert clock.ticks_per_quarter < 1 << 15
    for time in times:
        exact = time * clock.microseconds / 1_000_000
        tick = Fraction(clock.microseconds, 1_000_000 * clock.ticks_per_quarter)
        lost = 0 if clock.tick(time) == time * clock.ticks_per_quarter else tick / 2
        assert abs(clock.block(time) * BLOCK_SECONDS - exact) <= BLOCK_SECONDS / 2 + lost
        assert not lost or tick <= Fraction(60, 15_360) / tempo + Fraction(1, 10**9)
