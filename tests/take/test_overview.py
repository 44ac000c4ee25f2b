"""Whose take a recording is, by the name of its file."""

from __future__ import annotations

import pytest

from playalong.take.overview import UNNAMED, pupil_of


@pytest.mark.parametrize(
    ("stem", "pupil"),
    [
        ("anna-01-060-listen", "anna"),
        ("Anna Maria-D-major-A-01-060-listen.2", "Anna Maria"),
        ("anna 2026-11-27 (2)", "anna"),
        ("anna_take 3", "anna"),
        ("20261127_101010", UNNAMED),
        ("01-060-listen", UNNAMED),
    ],
)
def test_a_pupil_is_what_is_left_without_track_date_and_number(stem, pupil):
    assert pupil_of(stem, "D-major/A/01-060-listen") == pupil


def test_the_longest_name_that_a_file_may_have_is_read_at_once():
    assert pupil_of("1" * 254 + "x", "D-major/A/01-060-listen").endswith("x")
