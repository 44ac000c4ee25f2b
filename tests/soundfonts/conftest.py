"""The bank, parsed once and played once."""

from __future__ import annotations

import pytest
from bank_parser import Parsed, parse
from bank_render import RATE_HZ, VOICES, Floats, held


@pytest.fixture(scope="session")
def bank() -> Parsed:
    return parse()


@pytest.fixture(scope="session")
def notes() -> dict[tuple[int, int], Floats]:
    """One held second of every key of every voice: the left channel; the right is alike."""
    return {
        (program, key): held(program, key, 1.3)[-RATE_HZ:]
        for program, (low, high) in VOICES.items()
        for key in range(low, high + 1)
    }
