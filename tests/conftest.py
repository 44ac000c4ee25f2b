"""One hypothesis profile for all: the same examples on every run, no clock. Nobody's settings."""

import gc
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


def pytest_collection_finish() -> None:
    """All that is loaded by now stays to the end; Python looks through it for garbage no more.

    That is a tenth of the time of a run of all tests.
    """
    gc.collect()
    gc.freeze()


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
