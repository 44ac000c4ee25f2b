"""One hypothesis profile for all: the same examples on every run, no clock. Nobody's settings."""

import os
from collections.abc import Iterator
from tempfile import TemporaryDirectory

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
