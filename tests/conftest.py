"""One hypothesis profile for all: the same examples on every run, no clock."""

from hypothesis import HealthCheck, settings

settings.register_profile(
    "steady", derandomize=True, deadline=None, suppress_health_check=[HealthCheck.too_slow]
)
settings.load_profile("steady")
