"""One hypothesis profile for all: the same examples on every run, no clock. Nobody's settings."""

import os
from collections.abc import Iterator
from tempfile import TemporaryDirectory
from typing import Any

import pytest
from hypothesis import HealthCheck, settings

settings.register_profile(
    "steady", derandomize=True, deadline=None, suppress_health_check=[HealthCheck.too_slow]
)
settings.load_profile("steady")


@pytest.fixture(scope="session", autouse=True)
def no_settings() -> Iterator[None]:
    """An empty settings folder, for the tests and for every program that they start."""
    with (
        TemporaryDirectory(prefix="playalong-settings-") as folder,
        pytest.MonkeyPatch.context() as patch,
    ):
        patch.setitem(os.environ, "XDG_CONFIG_HOME", folder)
        yield


@pytest.fixture(scope="session")
def browsers() -> Iterator[Any]:
    """Starts browsers, for all tests that need one: a process has room for one that does."""
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        yield playwright
